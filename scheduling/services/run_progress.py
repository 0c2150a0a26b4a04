"""How far a planning run is."""

from dataclasses import dataclass

from scheduling.models import PlanRun
from scheduling.solver.outcome import Score


@dataclass(frozen=True)
class Best:
    """The best plan so far, as ``Score`` counts; ``bound``: the cost that no plan goes below."""

    cost: int
    bound: int
    visits: int
    idle_minutes: int
    seconds: float


def best_so_far(run: PlanRun) -> Best | None:
    """Return what the best plan of a run comes to; None as long as there is none."""
    if not run.progress:
        return None
    best = run.progress[-1]
    score = Score(*best["score"])
    return Best(score.cost, best["bound"], score.visits, score.idle, best["seconds"])
