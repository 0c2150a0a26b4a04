"""The cheapest single thing that would help a late house, found by solving it both ways.

Each change is solved from the same plan with the same budget as the problem as it is. Two seeds
solve the latter: what they differ by is noise, and only a gain above it counts.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from scheduling.solver.draft import FAR
from scheduling.solver.evaluate import TICKS_PER_DAY, handover_finishes
from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import Crew, Problem, Window


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
    house: str, problem: Problem, changes: Sequence[Change], solved: Iterator[Outcome]
) -> Cures:
    """Return what would make a house less late, by days saved, then by price.

    ``solved`` are the plans of ``again.solve_again``; those of changes are not asked for where
    the house needs none. A change that leaves more work unplanned, or pays for the house with
    the lateness of others, is no cure.
    """
    as_it_is = [next(solved), next(solved)]
    base = min(as_it_is, key=lambda outcome: (len(outcome.unplaced), outcome.score))
    lates = [late_ticks(problem, outcome, house) for outcome in as_it_is]
    late, noise = late_ticks(problem, base, house), abs(lates[0] - lates[1])
    found = []
    for change in changes if late else ():
        outcome = next(solved)
        left = late_ticks(change.problem, outcome, house)
        fair = (len(outcome.unplaced), outcome.score.lateness) <= (
            len(base.unplaced),
            base.score.lateness,
        )
        if fair and late - left > noise:
            found.append(Cure(change, late - left, left))
    found.sort(key=lambda cure: (-cure.days_saved, cure.change.price, -cure.saved))
    return Cures(late, noise, tuple(found))


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
