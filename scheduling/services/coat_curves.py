"""How the coats of a room dry, one after the other, in the air of its house."""

import math
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np

from finishing.rules.drying import dry_at
from finishing.rules.vocabulary import Stage
from scheduling.models import PlannedTask
from scheduling.services.air_layers import Hours
from scheduling.services.house_air import HouseAir
from scheduling.services.laid_coats import LaidCoat
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.reported import stage_key_of
from scheduling.services.room_waits import StageWait
from scheduling.services.room_work import ORDER
from scheduling.services.timeline import TICKS_PER_HOUR

SHARES = (0.25, 0.5, 0.75, 1.0)
"""How dry a coat is at the moments told of it in figures."""


@dataclass(frozen=True)
class CoatCurve:
    """A coat of a room that is drying or is planned.

    dryness: what part of the water under and in it has gone (0 to 1), from its end on until all
    has, or the next coat is on. at_share: by SHARES when it is that dry, where that comes before
    the next coat. least_at: when its practice minimum, or its setting, is over. ready_at: when
    what comes next may start; governs, air: what that rests on, as plans store it. following,
    next_at: the stage that the plan has after it, and its start.
    """

    stage: Stage
    ended_at: datetime
    dryness: tuple[tuple[datetime, float], ...]
    at_share: Mapping[float, datetime]
    least_at: datetime | None
    ready_at: datetime | None
    governs: str
    air: str
    following: str
    next_at: datetime | None


@dataclass(frozen=True)
class _WetCoat:
    """A coat with the drying that it and the water under it need; hours from the timeline's
    origin. stop_hour: when it is dry or the next coat is on, or at the end of what is known."""

    coat: LaidCoat
    progress: Hours
    end_hour: float
    amount: float
    stop_hour: float

    def hour_of(self, share: float) -> float:
        """Return the hour at which a share of the water has gone; infinite for never."""
        return float(dry_at(self.progress, self.end_hour, share * self.amount))

    def share_at(self, hours: Hours) -> Hours:
        done = np.interp(hours, np.arange(len(self.progress)), self.progress)
        return np.clip((done - _done_by(self.progress, self.end_hour)) / self.amount, 0.0, 1.0)


class _Waits(NamedTuple):
    """When a coat's least wait is over, and from when what comes next may start and why; ticks,
    None where there is no such wait or it does not end in air that is known."""

    least: int | None
    ready: int | None
    governs: str


class RoomCurves:
    """The coats of one room, and what its plan has after them."""

    def __init__(
        self, inputs: PlanInputs, air: HouseAir, laid: Iterable[LaidCoat], plan: list[PlannedTask]
    ) -> None:
        by_stage = {coat.stage: coat for coat in sorted(laid, key=lambda coat: coat.end_tick)}
        self.coats = sorted(by_stage.values(), key=lambda coat: coat.end_tick)
        self.ends = {stage_key_of(coat.key): coat.end_tick for coat in self.coats}
        self.inputs, self.air, self.plan = inputs, air, plan

    def still_wet(self, now: datetime) -> list[CoatCurve]:
        """Return the coats that are not dry by ``now``, those still to come among them. A coat
        put on in parts counts from its last."""
        now_hour = self.inputs.timeline.tick_before(now) / TICKS_PER_HOUR
        return [self._curve(wet) for wet in self._wet_coats() if wet.stop_hour > now_hour]

    def _wet_coats(self) -> Iterator[_WetCoat]:
        """Yield the coats in order, each with what those under it have left to dry."""
        left, behind = 0.0, 0.0
        ends = [max(coat.end_tick, 0) / TICKS_PER_HOUR for coat in self.coats]
        for coat, end, next_end in zip(self.coats, ends, [*ends, np.inf][1:], strict=True):
            key = stage_key_of(coat.key)
            progress = self.air.progress_for(key)
            gone = _done_by(progress, end) - _done_by(progress, behind)
            left, behind = max(left - gone, 0.0) + self.air.amount_of(key, coat.amount), end
            dry = float(dry_at(progress, end, left))
            yield _WetCoat(coat, progress, end, left, min(dry, next_end, len(progress) - 1.0))

    def _curve(self, wet: _WetCoat) -> CoatCurve:
        waits = self._waits(wet)
        ended_at = self.inputs.timeline.instant(wet.coat.end_tick)
        following = self._following(wet.coat.stage, ended_at)
        return CoatCurve(
            stage=wet.coat.stage,
            ended_at=ended_at,
            dryness=tuple(self._dryness(wet)),
            at_share={
                share: self._instant(hour)
                for share in SHARES
                if (hour := wet.hour_of(share)) <= wet.stop_hour
            },
            least_at=self._instant_of(waits.least),
            ready_at=self._instant_of(waits.ready),
            governs=waits.governs,
            air=self._air_until(wet.coat, waits),
            following=following.stage if following else "",
            next_at=following.starts_at if following else None,
        )

    def _dryness(self, wet: _WetCoat) -> Iterator[tuple[datetime, float]]:
        """Yield the share that has gone at the end, at each full hour, and when it stops."""
        edges = np.arange(np.floor(wet.end_hour) + 1, np.ceil(wet.stop_hour))
        hours = np.concatenate(([wet.end_hour], edges, [wet.stop_hour]))
        for hour, share in zip(hours.tolist(), wet.share_at(hours).tolist(), strict=True):
            yield self._instant(hour), share

    def _waits(self, wet: _WetCoat) -> _Waits:
        """Return a coat's waits for what comes next. Where that has to find it dry, it is not
        ready before it and what it was laid over is, however early it was laid over that."""
        key, curves = stage_key_of(wet.coat.key), self.inputs.problem.curves
        stage, waits = self._stage_after(key)
        found = [
            (curves[wait.curve].ready(max(end, 0)), wait.reason, wait.before.key)
            for wait in waits
            if (end := self.ends.get(wait.before.key)) is not None
        ]
        least = [tick for tick, reason, before in found if before == key and reason != "air"]
        if (done := self.inputs.done_waits.get(stage)) and done.before == key:
            found.append((done.ready, done.reason, key))
        if not found or any(reason == "air" for _, reason, _ in found):
            found.append((_tick_after(wet.hour_of(1.0)), "air", key))
        ready, governs, _ = max(found)
        known = ready <= (len(wet.progress) - 1) * TICKS_PER_HOUR
        return _Waits(max(least, default=None), ready if known else None, governs)

    def _stage_after(self, coat: str) -> tuple[str, Sequence[StageWait]]:
        """Return the stage that comes after a coat, by key, with what it waits for."""
        for stage, waits in self.inputs.stage_waits.items():
            if any(wait.before.key == coat and wait.reason != "air" for wait in waits):
                return stage, waits
        return "", ()

    def _following(self, stage: Stage, ended_at: datetime) -> PlannedTask | None:
        later = ORDER[ORDER.index(stage) + 1 :]
        after = [task for task in self.plan if task.stage in later and task.starts_at >= ended_at]
        return min(after, key=lambda task: task.starts_at, default=None)

    def _air_until(self, coat: LaidCoat, waits: _Waits) -> str:
        if waits.governs != "air" or waits.ready is None:
            return ""
        return self.air.source_between(coat.end_tick, waits.ready)

    def _instant_of(self, tick: int | None) -> datetime | None:
        return None if tick is None else self.inputs.timeline.instant(tick)

    def _instant(self, hour: float) -> datetime:
        return self.inputs.timeline.origin + timedelta(hours=hour)


def _tick_after(hour: float) -> int:
    """Return the first tick at or after an hour, but for rounding; past all others for never."""
    return math.ceil(hour * TICKS_PER_HOUR - 1e-6) if math.isfinite(hour) else sys.maxsize


def _done_by(progress: Hours, hour: float) -> float:
    return float(np.interp(hour, np.arange(len(progress)), progress))
