"""The cheapest single thing that would help a late house, found by solving it both ways.

Each change is solved from the same plan with the same budget as the problem as it is. Two seeds
solve the latter: what they differ by is noise, and only a gain above it counts.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from scheduling.solver.budget import Budget
from scheduling.solver.compiled import Compiled, compile_problem
from scheduling.solver.construct import first_draft, place_ready, sort_pieces
from scheduling.solver.draft import FAR, NOWHERE, Draft, empty_draft
from scheduling.solver.evaluate import TICKS_PER_DAY, handover_finishes
from scheduling.solver.improve import improve
from scheduling.solver.incumbent import Incumbent
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Crew, Placement, Problem, Window
from scheduling.solver.tally import key_of


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that could be otherwise, and the problem as it would then be.

    Codes: ``crew_day`` (``subject`` is a crew, ``tick`` the start of its extra day), ``overtime``
    (a crew, the end of a day), ``release`` (a house, ``tick`` how much earlier it opens), and
    whatever else the caller makes up, such as ``compound``. ``price`` is a plain weight.
    """

    code: str
    subject: str
    tick: int
    price: float
    problem: Problem


@dataclass(frozen=True, slots=True)
class Cure:
    """A change that helps: ticks of lateness saved and left, over all promises of the house."""

    change: Change
    saved: int
    left: int

    @property
    def days_saved(self) -> int:
        """Return the whole days saved, begun days of lateness counting as days."""
        before, after = self.saved + self.left, self.left
        return -(-before // TICKS_PER_DAY) - -(-after // TICKS_PER_DAY)


@dataclass(frozen=True, slots=True)
class Cures:
    """What the house's lateness is after solving again as things are, how far two solves of that
    are apart (both in ticks), and what helps beyond, the best first."""

    unchanged: int
    noise: int
    found: tuple[Cure, ...]


def cures(
    problem: Problem,
    placements: Sequence[Placement],
    house: str,
    changes: Sequence[Change],
    *,
    limits: Limits,
    stopwatch: Callable[[], float],
) -> Cures:
    """Return what would make a house less late, by days saved, then by price.

    ``limits`` are for each solve, of which there are two more than changes; ``stopwatch``
    returns seconds and never falls. A change that leaves more work unplanned, or pays for the
    house with the lateness of others, is no cure.
    """
    other_seed = replace(limits, seed=limits.seed + 1)
    as_it_is = [
        solve_from(problem, placements, budget, stopwatch) for budget in (limits, other_seed)
    ]
    base = min(as_it_is, key=lambda outcome: (len(outcome.unplaced), outcome.score))
    lates = [late_ticks(problem, outcome, house) for outcome in as_it_is]
    late, noise = late_ticks(problem, base, house), abs(lates[0] - lates[1])
    found = []
    for change in changes if late else ():
        outcome = solve_from(change.problem, placements, limits, stopwatch)
        left = late_ticks(change.problem, outcome, house)
        fair = (len(outcome.unplaced), outcome.score.lateness) <= (
            len(base.unplaced),
            base.score.lateness,
        )
        if fair and late - left > noise:
            found.append(Cure(change, late - left, left))
    found.sort(key=lambda cure: (-cure.days_saved, cure.change.price, -cure.saved))
    return Cures(late, noise, tuple(found))


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


def late_ticks(problem: Problem, outcome: Outcome, house: str) -> int:
    """Return how late a house is, summed over its promises; unplanned work ends at the horizon."""
    finishes = handover_finishes(problem, {place.task: place for place in outcome.placements})
    return sum(
        max(0, finishes[row.id] - row.due)
        for row in problem.handovers
        if row.house == house and row.id in finishes
    )


def with_crew_day(problem: Problem, crew: str, windows: Sequence[Window]) -> Problem:
    """Return the problem with more windows for a crew; they must not overlap those it has."""
    return _with_windows(problem, crew, lambda old: [*old.windows, *windows])


def with_overtime(problem: Problem, crew: str, day: int, ticks: int) -> Problem:
    """Return the problem with a crew's last window of a day ending later, but not into the next
    window."""

    def longer(old: Crew) -> Iterator[Window]:
        last = max(n for n, window in enumerate(old.windows) if window.day == day)
        for number, window in enumerate(old.windows):
            later = old.windows[number + 1].start if number + 1 < len(old.windows) else FAR
            more = min(window.end + ticks, later) if number == last else window.end
            yield replace(window, end=more)

    return _with_windows(problem, crew, longer)


def _with_windows(
    problem: Problem, crew: str, windows_of: Callable[[Crew], Iterable[Window]]
) -> Problem:
    def changed(old: Crew) -> Crew:
        if old.id != crew:
            return old
        return replace(old, windows=tuple(sorted(windows_of(old), key=lambda w: w.start)))

    return replace(problem, crews=tuple(map(changed, problem.crews)))
