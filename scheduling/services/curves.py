"""The ready curves of one problem, each made once and named by what it depends on."""

from collections.abc import Callable
from datetime import time
from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from finishing.models import Company, House
from finishing.rules.cold import starts_in_range
from finishing.rules.drying import dry_at
from finishing.rules.ensemble import Limits
from finishing.rules.vocabulary import Compound, Hardening
from finishing.rules.waits import air_ready_curve, next_day_curve
from scheduling.services.house_air import HouseAir
from scheduling.services.timeline import ONE_DAY, TICKS_PER_HOUR, Timeline, local_instant
from scheduling.solver.problem import ReadyCurve, Span, constant_lag

A_DAY_HOURS = 24.0
"""What "the next working day" may stand for; a compound that asks for more keeps its hours."""


def ticks_for(hours: float) -> int:
    """Return a wait in whole ticks, rounded up."""
    return -int(-hours * TICKS_PER_HOUR // 1)


class Drying(NamedTuple):
    """What an air curve stands for: an amount (1 is the table's coat) in a house (its id)."""

    house: str
    amount: float


class CurveBook:
    """Curves by id, for ``Problem.curves``; ``drying`` says what those of the air stand for."""

    def __init__(self, company: Company, timeline: Timeline) -> None:
        self.timeline = timeline
        self.curves: dict[str, ReadyCurve] = {}
        self.drying: dict[str, Drying] = {}
        self._next_day = company.drying_rule == Company.DryingRule.NEXT_DAY

    def lag(self, hours: float) -> str:
        """Return the id of a constant wait in hours."""
        ticks = ticks_for(hours)
        return self._keep(f"lag:{ticks}", lambda: constant_lag(ticks))

    def practice(self, hours: float, house: House) -> str:
        """Return the id of a drying coat's least wait: hours, or the next day if so set."""
        if not self._next_day or hours > A_DAY_HOURS:
            return self.lag(hours)
        zone = ZoneInfo(house.zone)
        return self._keep(f"next_day:{house.zone}", lambda: self._day_starts(zone))

    def air(self, house: House, air: HouseAir, amount: float, coat: str) -> str:
        """Return the id of the drying of an amount (1 is the table's coat) in a house's air, from
        the end of a coat (stage key) on."""
        horizon, progress = self.timeline.horizon, air.progress_for(coat)
        name = f"air:{house.public_id}:{amount:.4f}"
        if coat in air.slower:
            name = f"{name}:{coat}"
        self.drying[name] = Drying(str(house.public_id), amount)
        return self._keep(
            name, lambda: ReadyCurve(*air_ready_curve(progress, amount, horizon_ticks=horizon))
        )

    def _day_starts(self, zone: ZoneInfo) -> ReadyCurve:
        days = list(self.timeline.days(zone))
        starts = [
            self.timeline.tick_after(local_instant(day, time.min, zone))
            for day in [*days, days[-1] + ONE_DAY]
        ]
        return ReadyCurve(*next_day_curve([tick for tick in starts if tick >= 0]))

    def _keep(self, name: str, make: Callable[[], ReadyCurve]) -> str:
        if name not in self.curves:
            self.curves[name] = make()
        return name


def limits_of(compound: Compound, amount: float, work_hours: float) -> Limits:
    """Return what a coat asks of its air's temperature.

    work_hours: the longest the coat may take any crew. A drying coat needs its temperatures until
    all its water has gone, a setting one until it has set.
    """
    dries = compound.hardening is Hardening.DRIES
    return Limits(
        minimum_c=compound.minimum_c,
        maximum_c=compound.maximum_c,
        conditioning_hours=compound.conditioning_hours,
        work_hours=work_hours,
        amount=amount if dries else None,
        set_hours=0.0 if dries else compound.set_hours,
    )


def warm_starts(
    limits: Limits, air: HouseAir, coat: str, timeline: Timeline
) -> tuple[Span, ...] | None:
    """Return the ticks at which a coat (stage key) may start, given cold and heat; None for any."""
    hours = np.arange(len(air.temperature_c), dtype=np.float64)
    if limits.amount is not None:
        # An hour's latest start is just before the next hour begins.
        ended = np.minimum(hours + 1 + limits.work_hours, len(hours))
        over = dry_at(air.progress_for(coat), ended, limits.amount) - hours
    else:
        over = np.full(len(hours), 1 + limits.work_hours + limits.set_hours)
    may_start = starts_in_range(
        air.temperature_c,
        dry_hours_after=over,
        minimum_c=limits.minimum_c,
        maximum_c=limits.maximum_c,
        conditioning_hours=limits.conditioning_hours,
    )
    within = may_start[: timeline.horizon // TICKS_PER_HOUR]
    return None if within.all() else _spans(within)


def _spans(may_start: NDArray[np.bool_]) -> tuple[Span, ...]:
    """Return runs of open hours as spans of ticks."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], may_start.astype(np.int8), [0]))))
    ticks = (edges * TICKS_PER_HOUR).tolist()
    return tuple(Span(first, last) for first, last in zip(ticks[::2], ticks[1::2], strict=True))
