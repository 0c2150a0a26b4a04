"""The histories of the air in a company's houses, as the solver can use them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from functools import partial

import numpy as np

from finishing.queries.ensembles import Ensemble as ForecastEnsemble
from finishing.rules.ensemble import Ensemble, Limits, WarmStarts
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.source_histories import DrawnAir, TooLittleAirError
from scheduling.services.timeline import TICKS_PER_HOUR
from scheduling.solver.by_history import NEVER, Later, Ticks
from scheduling.solver.forward import Histories

BEFORE_DAYS = 3
"""Histories begin so many days before now, for the 48 hours of warmth before a coat."""
_TICK_SLACK = 1e-6


@dataclass(frozen=True)
class DrawnHistories:
    """What differs by history, and what it was drawn from.

    lacking: by house (id) why its air could not be drawn; it is as expected in every history.
    ensembles: of forecasts, whose members histories follow as long as they reach.
    """

    histories: Histories
    lacking: Mapping[str, TooLittleAirError]
    ensembles: Sequence[ForecastEnsemble]


class _HouseAirs:
    """The ensembles of a problem's houses, each made once.

    What walls, air change and the coats of the plan make of the air is taken to be the same share
    in all histories: to solve it with each history's own coats would take minutes.
    """

    def __init__(self, inputs: PlanInputs, drawn: DrawnAir) -> None:
        self._inputs = inputs
        self._drawn = drawn
        self._ensembles: dict[str, Ensemble | None] = {}
        self.lacking: dict[str, TooLittleAirError] = {}

    def of(self, house_id: str) -> Ensemble | None:
        """Return the air of a house; None for one that has too little to draw from."""
        if house_id not in self._ensembles:
            try:
                self._ensembles[house_id] = self._made(house_id)
            except TooLittleAirError as error:
                self._ensembles[house_id], self.lacking[house_id] = None, error
        return self._ensembles[house_id]

    def _made(self, house_id: str) -> Ensemble:
        drawn = self._drawn.inside(self._inputs.houses[house_id], self._inputs.sources[house_id])
        air, start = self._inputs.airs[house_id], self._drawn.start
        hours = slice(start, start + drawn.temperature_c.shape[1])
        return Ensemble.of(
            *drawn, warmer_c=air.warmer_c[hours], drying_share=air.drying_share[hours]
        )


def air_histories(
    inputs: PlanInputs, *, now: datetime, until: int, count: int, seed: int
) -> DrawnHistories:
    """Return what differs by history in a company's problem.

    until: the tick up to which the air matters: coats still wet then are never dry.
    """
    midnight = datetime.combine(now.astimezone(UTC).date(), time.min, UTC)
    before = midnight - timedelta(days=BEFORE_DAYS)
    drawn = DrawnAir(inputs.timeline, now, before, until, count, seed, inputs.shifts)
    airs = _HouseAirs(inputs, drawn)
    first = inputs.timeline.tick_after(before)
    ready: dict[str, Later] = {
        name: partial(_dry, air, drying.amount, first)
        for name, drying in inputs.drying.items()
        if (air := airs.of(drying.house))
    }
    histories = Histories(count, ready, dict(_warm_starts(inputs, airs, first)))
    return DrawnHistories(histories, airs.lacking, tuple(drawn.ensembles.values()))


def _warm_starts(inputs: PlanInputs, airs: _HouseAirs, first: int) -> Mapping[str, Later]:
    """Return by task from when on it may start, where some history of its air is too cold or too
    hot."""
    known: dict[tuple[int, float, float], WarmStarts] = {}
    found: dict[str, Later] = {}
    for task in inputs.problem.tasks:
        limits, air = inputs.limits.get(task.id), airs.of(task.house)
        if limits and air:
            key = (id(air), limits.minimum_c, limits.maximum_c)
            if key not in known:
                known[key] = WarmStarts(air, limits.minimum_c, limits.maximum_c)
            if task.starts is not None or not known[key].always:
                found[task.id] = partial(_may_start, known[key], limits, first, air.hours)
    return found


def _dry(air: Ensemble, amount: float, first: int, ends: Ticks) -> Ticks:
    """Return the tick at which a coat that ended at a tick is dry."""
    dry = air.dry_at(np.maximum(ends - first, 0) / TICKS_PER_HOUR, amount)
    ticks = first + np.ceil(dry * TICKS_PER_HOUR - _TICK_SLACK)
    return np.asarray(np.minimum(ticks, NEVER).astype(np.int64))


def _may_start(warm: WarmStarts, limits: Limits, first: int, hours: int, floor: Ticks) -> Ticks:
    """Return the first tick from a tick on at which a coat may start."""
    hour = np.maximum(floor - first, 0) // TICKS_PER_HOUR
    open_hour = warm.first_from(hour, limits)
    tick = np.where(open_hour > hour, first + open_hour * TICKS_PER_HOUR, floor)
    return np.where(open_hour < hours, tick, NEVER)
