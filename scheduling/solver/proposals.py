"""The recipe of a gentle replan: plans from the fewest changes to the earliest handovers."""

from collections.abc import Callable, Iterable
from random import Random

from scheduling.solver.bound import cost_bound, could_place_more, lateness_bound
from scheduling.solver.budget import Budget
from scheduling.solver.change import Current
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import first_draft, in_order, place_ready, sort_pieces
from scheduling.solver.draft import NOWHERE, Draft, empty_draft
from scheduling.solver.fewest import fewest_changes, first_fewest, settle
from scheduling.solver.front import Front, Report
from scheduling.solver.homes import Homes, homes_of
from scheduling.solver.improve import improve
from scheduling.solver.incumbent import Incumbent
from scheduling.solver.model_size import Size
from scheduling.solver.nearest import place_at
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.ruin import Pieces, Ruin, a_few, a_late_house
from scheduling.solver.tally import key_of

FEWEST_SHARE, EARLIEST_SHARE = 0.25, 0.85
"""Shares of the budget after which the search for the fewest changes, and then that for the
earliest handovers, ends; the rest goes to plans in between."""

WHOLE_UP_TO = Size(options=0, ways=0)
"""CP-SAT gets no problem as a whole: in the few seconds of a replan walking finds more, and more in
between (64 tasks: at least as little lateness, three proposals instead of one or two)."""

RUINS: tuple[Ruin, ...] = (a_late_house, a_few)


def _ignore(_: tuple[Outcome, ...]) -> None:
    return None


def propose(
    problem: Problem,
    current: Current,
    limits: Limits,
    stopwatch: Callable[[], float],
    report: Report = _ignore,
) -> tuple[Outcome, ...]:
    """Return up to three plans against the ``current`` one, the fewest changes first.

    They rise in change (visits moved, then shift) and fall in lateness; none is dominated on the
    two. ``stopwatch`` returns seconds since the start. ``report`` is called with the plans so
    far. With ``limits.work`` and the same seed the proposals are the same on every machine.
    """
    homes, budget = homes_of(compile_problem(problem), current), Budget(limits, stopwatch)
    front = Front(homes, stopwatch, report)
    rng = Random(limits.seed)  # noqa: S311 (a search, no secret)  # nosec B311
    first = first_fewest(homes)
    front.offer(first, "kept")
    found = fewest_changes(homes, first, rng, _until(budget, FEWEST_SHARE))
    if found.proved:
        front.prove_least(found.draft)
    front.offer(found.draft, "fewest")
    if _could_be_earlier(found.draft):
        _find_earliest(front, found.draft, budget)
        _find_between(homes, front, rng, _until(budget, 1.0))
    return front.shown()


def _could_be_earlier(draft: Draft) -> bool:
    """Return whether a search might find less lateness, or places for more tasks."""
    return could_place_more(draft) or _late(draft) > lateness_bound(draft.compiled)


def _until(budget: Budget, share: float) -> Callable[[], bool]:
    """Return what says whether less than a share of the budget is used, counting each question
    as a round."""

    def go_on() -> bool:
        budget.spend()
        return budget.used() < share

    return go_on


def _find_earliest(front: Front, fewest: Draft, budget: Budget) -> None:
    """Look for the earliest handovers as a solve without a current plan does, from the better of
    its first plan and the fewest changes."""
    compiled = front.homes.compiled
    part = budget.part(EARLIEST_SHARE)

    def offer(better: Outcome) -> None:
        draft = draft_of(front.homes, better.placements)
        if draft is not None:
            front.offer(draft, better.history[-1].by)

    incumbent = Incumbent(
        min(first_draft(compiled), fewest, key=key_of),
        cost_bound(compiled),
        budget.stopwatch,
        offer,
    )
    improve(incumbent, part, WHOLE_UP_TO)
    budget.spend(part.rounds)
    front.offer(incumbent.draft, "earliest")
    front.offer(_settled(front.homes, incumbent.draft), "earliest")


def _find_between(homes: Homes, front: Front, rng: Random, go_on: Callable[[], bool]) -> None:
    """Look for less lateness near the plans held, and send back home what need not move."""
    pieces = Pieces(front.pick(rng), in_order(homes.compiled, lambda task: task))
    if not pieces.tasks:
        return
    while go_on() and _late(front.drafts[-1]):
        base = front.pick(rng)
        candidate = _recreated(pieces, base, rng)
        if candidate and key_of(candidate) < key_of(base) and front.offer(candidate, "between"):
            front.offer(_settled(homes, candidate), "between")


def _recreated(pieces: Pieces, base: Draft, rng: Random) -> Draft | None:
    """Return the draft with some pieces put back anew, None where a task finds no place again:
    others may be waiting for it."""
    draft = base.copy()
    out = [pieces.tasks[number] for number in rng.choice(RUINS)(pieces, base, rng)]
    taken = [task for piece in out for task in piece if draft.crew[task] != NOWHERE]
    for task in taken:
        draft.take(task)
    lots = {piece[0]: base.start[piece[0]] + rng.random() * 600 for piece in out}
    for piece in sort_pieces(draft.compiled, out, lambda task: lots[task]):
        place_ready(draft, piece)
    return draft if all(draft.crew[task] != NOWHERE for task in taken) else None


def _settled(homes: Homes, draft: Draft) -> Draft:
    """Return the draft with all at home that can be without more lateness."""
    most = key_of(draft)
    late = most.score.lateness
    return settle(homes, draft, lambda key: key[:2] <= most[:2] and key.score.lateness <= late)


def _late(draft: Draft) -> int:
    return key_of(draft).score.lateness


def draft_of(homes: Homes, places: Iterable[Placement]) -> Draft | None:
    """Return placements as a draft, None where they do not hold."""
    compiled = homes.compiled
    draft = empty_draft(compiled)
    for place in sorted(places, key=lambda place: (place.start, place.end)):
        task = compiled.index[place.task]
        if compiled.tasks[task].fixed is None:
            crew = compiled.crew_number(place.crew)
            there = place_at(draft, task, crew, place.start, place.way)
            if there is None:
                return None
            draft.put(task, there)
    return draft
