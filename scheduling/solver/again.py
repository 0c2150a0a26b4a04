"""Planning again from an earlier plan, which need not fit the problem any more."""

from collections.abc import Callable, Iterable

from scheduling.solver.budget import Budget
from scheduling.solver.compiled import Compiled, compile_problem
from scheduling.solver.construct import first_draft, place_ready, sort_pieces
from scheduling.solver.draft import FAR, NOWHERE, Draft, empty_draft
from scheduling.solver.improve import improve
from scheduling.solver.incumbent import Incumbent
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.tally import key_of


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
