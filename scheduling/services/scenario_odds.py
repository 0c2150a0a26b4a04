"""The odds of a scenario's handovers beside those of its base, in the same histories of the air."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from finishing.models import Company
from scheduling.models import Plan
from scheduling.services.dryer_stays import stays_of
from scheduling.services.inputs import build_inputs
from scheduling.services.odds import HISTORIES, PlanOdds, histories_of, odds_in
from scheduling.services.plan_inputs import PlanInputs, WetHouses
from scheduling.services.settling import Agreed
from scheduling.services.source_histories import TooLittleAirError
from scheduling.services.stored_places import stored_places
from scheduling.solver.problem import Placement

Json = dict[str, Any]
SEED = 1
"""Always the same draw, so that scenarios differ by what they change and by nothing else."""


def scenario_odds(agreed: Agreed, base: Plan | None, company: Company, now: datetime) -> Json:
    """Return the odds of a scenario's plan, ``own``, and of its base, each in its own problem.

    A plan with nothing to come, or whose air cannot be drawn, has none.
    """
    return {
        "own": _odds_json(agreed.inputs, agreed.outcome.placements, now),
        "base": _base_odds(base, company, now) if base else {},
    }


def _base_odds(base: Plan, company: Company, now: datetime) -> Json:
    ends = dict(base.tasks.filter(ends_at__gt=now).values_list("key", "ends_at"))
    wet = WetHouses(ends, stays=stays_of(base))
    inputs = build_inputs(company=company, now=now, wet=wet)
    return _odds_json(inputs, stored_places(base, inputs), now)


def _odds_json(inputs: PlanInputs, planned: Sequence[Placement], now: datetime) -> Json:
    if not planned:
        return {}
    try:
        drawn = histories_of(inputs, planned, now=now, seed=SEED, count=HISTORIES)
        return _as_json(odds_in(inputs, planned, drawn))
    except TooLittleAirError:
        return {}


def _as_json(odds: PlanOdds) -> Json:
    known = [row.in_time for row in odds.handovers if row.in_time is not None]
    return {
        "missed": round(odds.mean_late, 3),
        "known": len(known),
        "handovers": [
            {
                "house": row.house,
                "areas": list(row.areas),
                "due_on": row.due_on.isoformat(),
                "in_time": row.in_time,
            }
            for row in odds.handovers
        ],
    }
