"""Rings of lags that no plan can keep, found before any search."""

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.bound import lateness_bound
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct
from scheduling.solver.feasibility import impossible_lags
from scheduling.solver.impossible import proved_impossible
from scheduling.solver.outcome import Status
from scheduling.solver.problem import (
    Crew,
    Handover,
    House,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
)
from scheduling.solver.verify import verify

LENGTH, HORIZON = 4, 400


def chained(waits: Sequence[tuple[int, int, int, int | None]], tasks: int = 3) -> Problem:
    """Tasks of four ticks, each with a crew and room of its own; waits are (before, after,
    least, most)."""
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=HORIZON,
        crews=tuple(Crew(f"c{n}", (Window(0, HORIZON, 0),)) for n in range(tasks)),
        houses=(House("mill"),),
        tasks=tuple(
            Task(f"t{n}", "mill", f"r{n}", 5 * LENGTH, crews=(f"c{n}",)) for n in range(tasks)
        ),
        waits=tuple(
            Wait(f"t{one}", f"t{two}", str(least), most=most) for one, two, least, most in waits
        ),
        curves={str(least): constant_lag(least) for _, _, least, _ in waits},
    )


@pytest.mark.parametrize(
    ("waits", "possible"),
    [
        ([(0, 1, 6, 6)], True),
        ([(0, 1, 6, 5)], False),
        # t1 takes 4 ticks between two waits of 6: 16 ticks from the end of t0 at the least.
        ([(0, 1, 6, None), (1, 2, 6, None), (0, 2, 0, 16)], True),
        ([(0, 1, 6, None), (1, 2, 6, None), (0, 2, 0, 15)], False),
    ],
)
def test_a_maximum_below_what_the_minima_add_up_to_is_impossible(
    waits: list[tuple[int, int, int, int | None]], possible: bool
) -> None:
    problem = chained(waits)
    outcome = construct(problem)
    assert verify(problem, outcome) == []
    tied = {f"t{number}" for wait in waits for number in wait[:2]}
    assert set(impossible_lags(problem)) == (set() if possible else tied)
    ring = {item.task for item in outcome.unplaced if item.code == "impossible_lags"}
    assert ring == (set() if possible else tied)
    assert (outcome.status is Status.PARTIAL) is not possible


def in_one_room(task: Task, **changes: object) -> Task:
    return replace(task, room="r", **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("waits", "grades", "run"),
    [
        ([(0, 1, 0, None), (1, 0, 0, None)], (None, None), None),
        ([(1, 0, 0, None)], (None, None), "run"),  # the run has the first before the second
        ([(0, 1, 0, None)], (1, 2), None),  # and nothing goes over something softer
    ],
)
def test_what_comes_after_itself_is_impossible(
    waits: list[tuple[int, int, int, int | None]],
    grades: tuple[int | None, int | None],
    run: str | None,
) -> None:
    problem = chained(waits, tasks=2)
    tasks = zip(problem.tasks, grades, strict=True)
    problem = replace(
        problem, tasks=tuple(in_one_room(t, grade=g, run=run, crews=None) for t, g in tasks)
    )
    outcome = construct(problem)
    assert verify(problem, outcome) == []
    assert {item.code for item in proved_impossible(problem, outcome)} == {"impossible_lags"}
    assert {item.task for item in proved_impossible(problem, outcome)} == {"t0", "t1"}


def test_a_ring_with_slack_in_it_is_possible_and_bounds_nothing() -> None:
    problem = chained([(0, 1, -9, 10), (1, 0, -9, None)], tasks=2)
    tasks = tuple(replace(task, handover="h") for task in problem.tasks)
    problem = replace(problem, tasks=tasks, handovers=(Handover("h", "mill", LENGTH),))
    outcome = construct(problem)
    assert verify(problem, outcome) == []
    assert outcome.score.lateness == lateness_bound(compile_problem(problem)) == 0


@given(
    lags=st.lists(
        st.tuples(st.integers(0, 20), st.none() | st.integers(0, 30)), min_size=3, max_size=3
    )
)
def test_three_tasks_are_impossible_just_when_the_sums_say_so(
    lags: list[tuple[int, int | None]],
) -> None:
    # Difference constraints on a chain and its shortcut, solved by hand.
    (first, first_most), (second, second_most), (least, most) = lags
    waits = [(0, 1, first, first_most), (1, 2, second, second_most), (0, 2, least, most)]
    problem = chained(waits)
    longest = [top for top in (first_most, second_most) if top is not None]
    possible = (
        (first_most is None or first <= first_most)
        and (second_most is None or second <= second_most)
        and (most is None or max(least, first + LENGTH + second) <= most)
        and (len(longest) < 2 or least <= sum(longest) + LENGTH)
    )
    assert bool(impossible_lags(problem)) is not possible
    outcome = construct(problem)
    assert verify(problem, outcome) == []
    assert bool(outcome.unplaced) is not possible
