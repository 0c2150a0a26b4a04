"""Ways to replan, from the fewest changes to the earliest handovers."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from random import Random

from scheduling.solver.change import Change, change_between
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import in_order, outcome_of, place_ready, sort_pieces
from scheduling.solver.draft import NOWHERE, Draft, empty_draft
from scheduling.solver.fewest import fewest_changes, settle
from scheduling.solver.homes import Homes, Size, homes_of
from scheduling.solver.nearest import place_at
from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.ruin import Pieces, Ruin, a_few, a_late_house
from scheduling.solver.tally import key_of

MOST = 3
"""Proposals shown at most."""

FEWEST_SHARE = 0.4
"""Share of the time that goes to the fewest changes; the rest goes to earlier handovers."""

RUINS: tuple[Ruin, ...] = (a_late_house, a_few)


@dataclass(frozen=True, slots=True)
class Proposal:
    """A plan for the caller to verify, and how it differs from the current one."""

    outcome: Outcome
    change: Change


@dataclass(frozen=True, slots=True)
class Proposals:
    """Up to three plans of rising change and falling lateness; none is dominated on the two.

    dropped: further plans of the trade-off that were found and are not shown.
    """

    shown: tuple[Proposal, ...]
    dropped: int = 0


def propose(
    problem: Problem,
    current: Iterable[Placement],
    stopwatch: Callable[[], float],
    *,
    seconds: float | None = 4.0,
    rounds: int | None = None,
    seed: int = 1,
    earliest: Iterable[Placement] = (),
) -> Proposals:
    """Return proposals against the ``current`` places, the fewest changes first.

    stopwatch: returns seconds since some moment before the call. seconds: when to stop by it,
    None for never. rounds: of search for either end of the trade-off, None for no limit; with
    rounds alone the same problem and seed give the same proposals. earliest: a whole plan of the
    problem made without regard to change, if there is one, to go on from.
    """
    assert seconds is not None or rounds is not None, "a search without an end"
    current = tuple(current)
    homes = homes_of(compile_problem(problem), current)
    rng = Random(seed)  # noqa: S311 (a search, no secret)
    first = _Clock(stopwatch, None if seconds is None else seconds * FEWEST_SHARE, rounds)
    front = _Front(homes)
    front.offer(fewest_changes(homes, rng, first))
    if known := _draft_of(homes, earliest):
        front.offer(known)
        front.offer(_settled(homes, known))
    _search(homes, front, rng, _Clock(stopwatch, seconds, rounds))
    plans = front.plans()
    shown = [plans[number] for number in _spread(len(plans))]
    return Proposals(
        tuple(_proposal(problem, current, draft) for draft in shown), len(plans) - len(shown)
    )


class _Clock:
    """Says whether to go on, by the stopwatch and by how often it was asked."""

    def __init__(
        self, stopwatch: Callable[[], float], seconds: float | None, rounds: int | None
    ) -> None:
        self._stopwatch, self._seconds, self._left = stopwatch, seconds, rounds

    def __call__(self) -> bool:
        if self._left is not None:
            self._left -= 1
            if self._left < 0:
                return False
        return self._seconds is None or self._stopwatch() < self._seconds


class _Front:
    """The plans found of which none is dominated by another on change and lateness."""

    def __init__(self, homes: Homes) -> None:
        self.homes = homes
        self._held: list[tuple[tuple[int, int], Size, int, Draft]] = []

    def offer(self, draft: Draft) -> bool:
        """Keep a draft unless one held is as good on both; drop those it dominates."""
        key = key_of(draft)
        broken, size, late = key[:2], self.homes.size(draft), key.score.lateness
        if any(
            held[0] < broken or (held[0] == broken and held[1] <= size and held[2] <= late)
            for held in self._held
        ):
            return False
        self._held = [
            held
            for held in self._held
            if held[0] == broken and not (size <= held[1] and late <= held[2])
        ]
        self._held.append((broken, size, late, draft))
        return True

    def plans(self) -> list[Draft]:
        """Return the drafts by rising change."""
        return [held[3] for held in sorted(self._held, key=lambda held: held[1])]

    def pick(self, rng: Random) -> Draft:
        """Return one of the drafts."""
        return rng.choice(self._held)[3]


def _search(homes: Homes, front: _Front, rng: Random, go_on: Callable[[], bool]) -> None:
    """Look for less lateness near the plans held, and send back home what need not move."""
    pieces = Pieces(front.pick(rng), in_order(homes.compiled, lambda task: task))
    if not pieces.tasks:
        return
    while go_on() and any(key_of(draft).score.lateness for draft in front.plans()[-1:]):
        base = front.pick(rng)
        candidate = _recreated(pieces, base, rng)
        if key_of(candidate) < key_of(base) and front.offer(candidate):
            front.offer(_settled(homes, candidate))


def _recreated(pieces: Pieces, base: Draft, rng: Random) -> Draft:
    draft = base.copy()
    out = [pieces.tasks[number] for number in rng.choice(RUINS)(pieces, base, rng)]
    for task in (task for piece in out for task in piece if draft.crew[task] != NOWHERE):
        draft.take(task)
    lots = {piece[0]: base.start[piece[0]] + rng.random() * 600 for piece in out}
    for piece in sort_pieces(draft.compiled, out, lambda task: lots[task]):
        place_ready(draft, piece)
    return draft


def _settled(homes: Homes, draft: Draft) -> Draft:
    """Return the draft with all at home that can be without more lateness."""
    most = key_of(draft)
    return settle(
        homes,
        draft,
        lambda d: (key := key_of(d))[:2] <= most[:2] and key.score.lateness <= most.score.lateness,
    )


def _draft_of(homes: Homes, places: Iterable[Placement]) -> Draft | None:
    """Return placements as a draft, None where they are not a whole plan that holds."""
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


def _spread(count: int) -> list[int]:
    """Return which of so many plans to show: both ends and the one in the middle."""
    return list(range(count)) if count <= MOST else [0, count // 2, count - 1]


def _proposal(problem: Problem, current: tuple[Placement, ...], draft: Draft) -> Proposal:
    outcome = outcome_of(draft)
    return Proposal(outcome, change_between(problem, current, outcome.placements))
