"""Work that is given a time in air too cold, or too hot, for what it puts on."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from finishing.rules.cold import BoolArray
from scheduling.services.air_layers import KINDS
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.timeline import TICKS_PER_HOUR


@dataclass(frozen=True)
class UnfitAir:
    """The first hour of a house's air that a coat of ``stage`` may not have about it.

    code: ``too_cold`` or ``too_hot``. limit_c: the least, or the most, that its compound allows.
    air: what that hour rests on.
    """

    room: str
    stage: str
    code: str
    hour: datetime
    temperature_c: float
    limit_c: float
    air: str


def unfit_air(inputs: PlanInputs, task: str, starts_at: datetime) -> UnfitAir | None:
    """Return what is wrong with the air of a task (key) that starts then; None where it may.

    Where the start is closed, by the rule that planning keeps to (finishing/rules/cold.py), some
    hour between its conditioning and the hour in which it is dry is to blame, so the first one
    found from there on is such an hour.
    """
    limits, tick = inputs.limits.get(task), inputs.timeline.tick_before(starts_at)
    if limits is None or _may_start(inputs, task, tick):
        return None
    stage, hour = inputs.stages[task], tick // TICKS_PER_HOUR
    air = inputs.airs[str(stage.room.area.house.public_id)]
    warming = max(0, int(hour - limits.conditioning_hours))
    cold = _first(air.temperature_c < limits.minimum_c, warming)
    hot = _first(air.temperature_c > limits.maximum_c, hour)
    at = min(cold, hot)
    if at == len(air.temperature_c):
        return None  # nothing but that nobody knows when it dries
    return UnfitAir(
        room=stage.room.name,
        stage=stage.stage,
        code="too_cold" if at == cold else "too_hot",
        hour=inputs.timeline.instant(at * TICKS_PER_HOUR),
        temperature_c=float(air.temperature_c[at]),
        limit_c=limits.minimum_c if at == cold else limits.maximum_c,
        air=KINDS[int(air.kinds[at])],
    )


def _may_start(inputs: PlanInputs, task: str, tick: int) -> bool:
    starts = next((row.starts for row in inputs.problem.tasks if row.id == task), None)
    return starts is None or any(span.start <= tick < span.end for span in starts)


def _first(holds: BoolArray, first: int) -> int:
    """Return the first place from ``first`` on that holds, or how many places there are."""
    found = np.flatnonzero(holds[first:])
    return first + int(found[0]) if found.size else len(holds)
