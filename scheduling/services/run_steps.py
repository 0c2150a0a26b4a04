"""What a run goes through, so that whoever waits sees what is going on and how long it may take.

Steps in ``PlanRun.steps``: ``air`` (the air in the houses, from the rows or from a plan's coats),
``search`` (for better plans), ``dryers`` (for places of dryers), ``odds`` (of the handovers of a
scenario or a quote). ``at``: seconds since the run was claimed. ``seconds``: the longest the step
searches, 0 where it takes what it takes.
"""

from datetime import datetime

from django.utils import timezone

from scheduling.models import PlanRun
from scheduling.queries.plans import latest_publication
from scheduling.services.dryer_plan import SEARCH_SHARE
from scheduling.services.holding import write_fields
from scheduling.services.rounds import SHARES


def begin_step(run: PlanRun, code: str, seconds: float = 0.0) -> None:
    """Note that a run has come to a step."""
    run.steps.append({"code": code, "at": round(seconds_since_claimed(run), 2), "seconds": seconds})
    write_fields(run, "steps")


def seconds_since_claimed(run: PlanRun) -> float:
    """Return how long a run has been going on; 0 before it is claimed."""
    return _seconds(run, timezone.now())


def search_seconds_left(run: PlanRun, now: datetime) -> float:
    """Return the longest that a run searches from now on; the air is worked out beside that."""
    before = sum(float(step["seconds"]) for step in run.steps[:-1])
    return max(0.0, run.seconds * _searches(run) - before - _in_last_step(run, now))


def _searches(run: PlanRun) -> float:
    """Return how often a run searches at most, in shares of its seconds."""
    if run.quote_id is not None:
        return 1.0
    afresh = run.scenario_id is not None or latest_publication(run.company) is None
    return sum(SHARES) + (SEARCH_SHARE if afresh else 0.0)


def _in_last_step(run: PlanRun, now: datetime) -> float:
    if not run.steps:
        return 0.0
    last = run.steps[-1]
    return min(float(last["seconds"]), max(0.0, _seconds(run, now) - float(last["at"])))


def _seconds(run: PlanRun, now: datetime) -> float:
    claimed: datetime | None = run.claimed_at
    return (now - claimed).total_seconds() if claimed else 0.0
