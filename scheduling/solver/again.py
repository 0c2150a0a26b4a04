"""Solving again from a plan: as things are, and as they would be with one thing changed."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from scheduling.solver.budget import Budget
from scheduling.solver.compiled import Compiled, compile_problem
from scheduling.solver.construct import first_draft, place_ready, sort_pieces
from scheduling.solver.draft import FAR, NOWHERE, Draft, empty_draft
from scheduling.solver.improve import improve
from scheduling.solver.incumbent import Incumbent
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.tally import key_of


def solve_again(
    problem: Problem,
    changed: Sequence[Problem],
    placements: Sequence[Placement],
    limits: Limits,
    stopwatch: Callable[[], float],
) -> Iterator[Outcome]:
    """Yield the best plan of a problem under two seeds, then that of each changed problem.

    All start from the same placements. ``limits`` are for all of them together, shared out
    evenly; ``stopwatch`` returns seconds and never falls.
    """
    share = _shared(limits, len(changed) + 2)
    other_seed = replace(share, seed=share.seed + 1)
    for one, budget in (
        (problem, share),
        (problem, other_seed),
        *((other, share) for other in changed),
    ):
        yield solve_from(one, placements, budget, stopwatch)


def _shared(limits: Limits, solves: int) -> Limits:
    return replace(
        limits,
        seconds=limits.seconds / solves if limits.seconds else None,
        work=limits.work // solves if limits.work is not None else None,
    )


def solve_from(
    problem: Problem,
    placements: Iterable[Placement],
    limits: Limits,
    stopwatch: Callable[[], float],
) -> Outcome:
    """Return the best plan found from an earlier one, which need not fit the problem any more.

    Tasks keep their crews and their order; each starts as early as it now can.
    """
    began = stopwatch()
    budget = Budget(limits, lambda: stopwatch() - began)
    compiled = compile_problem(problem)
    draft = min(first_draft(compiled), _draft_like(compiled, placements), key=key_of)
    incumbent = Incumbent(draft, 0, lambda: stopwatch() - began, lambda _: None)
    improve(incumbent, budget)
    return incumbent.outcome()


def _draft_like(compiled: Compiled, placements: Iterable[Placement]) -> Draft:
    places = {compiled.index[p.task]: p for p in placements if p.task in compiled.index}
    starts = {task: place.start for task, place in places.items()}
    draft = empty_draft(compiled)
    pieces = [[task] for task in range(len(compiled.tasks))]
    for piece in sort_pieces(compiled, pieces, lambda task: starts.get(task, FAR)):
        (task,) = piece
        crew = compiled.crew_number(places[task].crew) if task in places else NOWHERE
        if crew not in compiled.crews[task] or not place_ready(draft, piece, (crew,)):
            place_ready(draft, piece)
    return draft
