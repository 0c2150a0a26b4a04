"""How far a planning run is."""

from bisect import bisect_right
from dataclasses import dataclass

from scheduling.models import PlanRun
from scheduling.solver.outcome import Score


@dataclass(frozen=True)
class Best:
    """A plan as ``Score`` counts; ``bound``: the cost that no plan goes below. ``seconds``: since
    its search began."""

    cost: int
    bound: int
    visits: int
    idle_minutes: int
    seconds: float


@dataclass(frozen=True)
class Found:
    """A better plan, so many seconds after the run was claimed. ``search``: which of the run's
    searches found it, from 0: each starts from a problem of its own."""

    at: float
    search: int
    plan: Best


def found_so_far(run: PlanRun) -> list[Found]:
    """Return the better plans of a run in the order in which they were found.

    Proposals that cost more than one before them of the same search are left out: they are there
    because they change less. Rows of before ``at`` was kept have the seconds of their search alone.
    """
    begun = [step["at"] for step in run.steps if step["code"] == "search"]
    found: list[Found] = []
    for better in run.progress:
        at, score = better.get("at", better["seconds"]), Score(*better["score"])
        search = max(bisect_right(begun, at) - 1, 0)
        if found and found[-1].search == search and found[-1].plan.cost < score.cost:
            continue
        plan = Best(score.cost, better["bound"], score.visits, score.idle, better["seconds"])
        found.append(Found(at, search, plan))
    return found


def best_so_far(run: PlanRun) -> Best | None:
    """Return the best plan of a run's last search; None as long as there is none."""
    found = found_so_far(run)
    return found[-1].plan if found else None
