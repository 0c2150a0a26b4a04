"""How long a gentle replan takes from the call to its proposals, and what it proposes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median

from scheduling.bench.changes import NOW, UPSETS, as_of_now, without_last_house
from scheduling.bench.strength import timed
from scheduling.bench.towns import town
from scheduling.services.proposing import Proposal, Proposed, propose
from scheduling.solver.change import Current
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import Placement, Problem

Clock = Callable[[], float]

SOLVE_ROUNDS = 10
"""Rounds per task that the plan to be changed is made with: the same on every machine."""


@dataclass(frozen=True, slots=True)
class Size:
    """Towns of so many tasks and crews, due dates so tight; ``able`` as in ``town``."""

    tasks: int
    crews: int
    pressure: float
    able: int | None = None


SIZES = (Size(64, 5, 1.05), Size(200, 8, 1.5, able=3), Size(500, 14, 1.2, able=4))


@dataclass(frozen=True, slots=True)
class Replanned:
    """One replan, in seconds from the call: when there was a first proposal, when as many as in
    the end, and when the call returned."""

    first_seconds: float
    all_seconds: float
    end_seconds: float
    proposals: tuple[Proposal, ...]


@dataclass(frozen=True, slots=True)
class Town:
    """A town, its plan, and the same before its last house was ordered."""

    whole: Problem
    plan: tuple[Placement, ...]
    smaller_plan: tuple[Placement, ...]

    def plan_before(self, upset: str) -> tuple[Placement, ...]:
        """Return what crews had been told before something upset it."""
        return self.smaller_plan if upset == "new house" else self.plan


def planned_town(size: Size, seed: int, clock: Clock) -> Town:
    """Return an invented town with its plans."""
    problem = town(
        tasks=size.tasks, crews=size.crews, seed=seed, pressure=size.pressure, able=size.able
    )
    limits = Limits(work=SOLVE_ROUNDS * size.tasks, workers=1, seed=seed)
    plans = [timed(one, limits, clock).placements for one in (problem, without_last_house(problem))]
    return Town(problem, *plans)


def replanned(place: Town, upset: str, limits: Limits, clock: Clock) -> Replanned:
    """Return how a replan of a town went after something upset its plan."""
    plan = place.plan_before(upset)
    problem = UPSETS[upset](as_of_now(place.whole, plan), plan)
    current = Current(tuple(one for one in plan if one.start >= NOW))
    counts: list[tuple[float, int]] = []
    began = clock()
    found: Proposed = propose(
        problem,
        current,
        limits,
        on_better=lambda better: counts.append((clock() - began, len(better))),
    )
    end = clock() - began
    if found.note:
        raise AssertionError(found.note)
    count = len(found.proposals)
    return Replanned(
        counts[0][0], next(when for when, many in counts if many >= count), end, found.proposals
    )


HEADER = (
    f"{'tasks/crews':12} {'after':19}{'first':>7}{'all':>8}{'end':>8}  proposals  "
    f"{'visits moved':>20}  {'weighted days late':>24}"
)


def row(size: Size, upset: str, results: Sequence[Replanned]) -> str:
    """Return one line of the table: medians, and how often there were 1, 2 and 3 proposals."""
    counts = [len(result.proposals) for result in results]
    return (
        f"{size.tasks:>5} / {size.crews:<4} {upset:19}"
        f"{median(result.first_seconds for result in results):>5.2f} s"
        f"{median(result.all_seconds for result in results):>6.2f} s"
        f"{median(result.end_seconds for result in results):>6.2f} s"
        f"  {' / '.join(str(counts.count(number)) for number in (1, 2, 3)):9}  "
        f"{_medians(results, lambda one: one.change.visits_moved, '.0f'):>20}  "
        f"{_medians(results, lambda one: one.outcome.score.lateness / 1440, '.1f'):>24}"
    )


def _medians(results: Sequence[Replanned], of: Callable[[Proposal], float], form: str) -> str:
    """Return medians of the first, the middle and the last proposals; of the middle ones there
    may be none."""
    firsts, lasts = ([of(one.proposals[end]) for one in results] for end in (0, -1))
    middles = [of(one.proposals[1]) for one in results if len(one.proposals) == 3]
    groups = [firsts, middles, lasts]
    return " / ".join(format(median(group), form) if group else "-" for group in groups)
