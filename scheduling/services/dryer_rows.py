"""What a plan stores of its dryers: each stay with what it saves, each unit that is left."""

import math
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any

from finishing.models import Dryer
from scheduling.services.dryer_plan import free_dryers
from scheduling.services.dryer_stays import LEAVE_IT, STAY, PlannedStay
from scheduling.services.plan_inputs import PlanInputs
from scheduling.solver.outcome import Outcome

A_DAY = timedelta(days=1)


def dryer_rows(inputs: PlanInputs, outcome: Outcome) -> list[dict[str, Any]]:
    """Return the stays of a plan in order of time, then the units that have none."""
    ends = {
        place.task: inputs.timeline.instant(place.end).isoformat() for place in outcome.placements
    }
    stays = [
        _stay_row(inputs, one, set_at, ends[one.stay.collect_in])
        for one in inputs.stays.all
        if one.stay.collect_in in ends and (set_at := _set_at(one, ends))
    ]
    stays.sort(key=lambda row: (row["set_at"], row["name"], row["unit"]))
    return [*stays, *_left(free_dryers(inputs), {(row["dryer"], row["unit"]) for row in stays})]


def _set_at(one: PlannedStay, ends: Mapping[str, str]) -> str:
    told = one.set_at.isoformat() if one.set_at else ""
    return ends.get(one.stay.set_in, told)


def _stay_row(inputs: PlanInputs, one: PlannedStay, set_at: str, collect_at: str) -> dict[str, Any]:
    """A day that has begun is paid for; what a stay saves is told by the day it stands."""
    row, stay = inputs.dryers[one.stay.dryer], one.stay
    days = (datetime.fromisoformat(collect_at) - datetime.fromisoformat(set_at)) / A_DAY
    return {
        "code": STAY,
        **_unit(row, stay.dryer, stay.unit),
        "house_id": one.house,
        "house": inputs.houses[one.house].name,
        "set_in": stay.set_in,
        "set_at": set_at,
        "collect_in": stay.collect_in,
        "collect_at": collect_at,
        "coats": list(stay.coats),
        "days": round(days, 2),
        "saved_minutes": one.saved_minutes,
        "saved_minutes_a_day": round(one.saved_minutes / days) if days > 0 else 0,
        "cost": math.ceil(days) * row.cost_per_day,
    }


def _left(rows: Mapping[str, Dryer], used: set[tuple[str, int]]) -> Iterator[dict[str, Any]]:
    for key, row in rows.items():
        for unit in range(row.count):
            if (key, unit) not in used:
                yield {"code": LEAVE_IT, **_unit(row, key, unit)}


def _unit(row: Dryer, key: str, unit: int) -> dict[str, Any]:
    return {"dryer": key, "name": row.name, "kind": row.kind, "unit": unit, "of": row.count}
