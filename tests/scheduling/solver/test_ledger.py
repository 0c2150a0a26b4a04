"""The ledger against the plain tally, through rounds that are kept and rounds that are undone."""

from random import Random

from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import first_draft
from scheduling.solver.problem import Problem
from scheduling.solver.tally import key_of
from scheduling.solver.walk import Walk
from tests.scheduling.solver.small_problems import small_problems


@given(small_problems(), st.integers(0, 9))
def test_the_ledger_keeps_the_score_of_the_draft(problem: Problem, seed: int) -> None:
    walk = Walk(first_draft(compile_problem(problem)), Random(seed))
    for round_number in range(12 if walk.pieces.tasks else 0):
        before = walk.draft.copy()
        moved = walk.step(round_number / 12)
        assert walk.key == key_of(walk.draft)
        same = walk.draft.placements() == before.placements() and walk.draft.items == before.items
        assert moved or same
