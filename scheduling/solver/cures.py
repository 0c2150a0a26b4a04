"""The cheapest single thing that would help a late house, judged by solving it both ways.

Each change is solved from the same plan with the same budget as the problem as it is, under two
seeds. How far apart the seeds are is noise: only a gain above it counts, and of a change's two
plans the worse one.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from scheduling.solver.draft import FAR
from scheduling.solver.evaluate import TICKS_PER_DAY, handover_finishes
from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import TICK_MINUTES, Crew, Problem, Window


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
class Standing:
    """How a late house stands after planning again as things are, under two seeds.

    late: ticks of the house's lateness in the better of the two plans. noise: how far apart the
    two are. unplaced: tasks without a place. others: weighted minutes by which all other houses
    are late, in the worse of the two.
    """

    house: str
    late: int
    noise: int
    unplaced: int
    others: int


def standing(problem: Problem, house: str, plans: Sequence[Outcome]) -> Standing:
    """Return where a house stands by the plans of the problem as it is."""
    lates = [late_ticks(problem, plan, house) for plan in plans]
    best = min(plans, key=lambda plan: (len(plan.unplaced), plan.score))
    return Standing(
        house,
        late=late_ticks(problem, best, house),
        noise=max(lates) - min(lates),
        unplaced=len(best.unplaced),
        others=max(_others_late(problem, plan, house) for plan in plans),
    )


def cure(change: Change, plans: Sequence[Outcome], now: Standing) -> Cure | None:
    """Return what a change saves in the worst of its plans; None where that is not above noise.

    A change that leaves more work unplanned, or pays for the house with the lateness of others,
    is no cure.
    """
    fair = all(
        len(plan.unplaced) <= now.unplaced
        and _others_late(change.problem, plan, now.house) <= now.others
        for plan in plans
    )
    left = max(late_ticks(change.problem, plan, now.house) for plan in plans)
    if not fair or now.late - left <= now.noise:
        return None
    return Cure(change, now.late - left, left)


def best_first(found: Iterable[Cure]) -> list[Cure]:
    """Return cures by days saved, then by price."""
    return sorted(found, key=lambda cure: (-cure.days_saved, cure.change.price, -cure.saved))


def _others_late(problem: Problem, plan: Outcome, house: str) -> int:
    finishes = _finishes(problem, plan)
    return sum(
        row.weight * TICK_MINUTES * max(0, finishes[row.id] - row.due)
        for row in problem.handovers
        if row.house != house and row.id in finishes
    )


def late_ticks(problem: Problem, outcome: Outcome, house: str) -> int:
    """Return how late a house is, summed over its promises; unplanned work ends at the horizon."""
    finishes = _finishes(problem, outcome)
    return sum(
        max(0, finishes[row.id] - row.due)
        for row in problem.handovers
        if row.house == house and row.id in finishes
    )


def _finishes(problem: Problem, outcome: Outcome) -> dict[str, int]:
    return handover_finishes(problem, {place.task: place for place in outcome.placements})


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
