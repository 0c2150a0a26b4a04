"""What "not dry yet", said by crews of coats in a house, says of how slowly they dry there.

Everything is predicted as if nobody had reported anything: by the coats' own amounts, in the
house's air. So a report that is set aside leaves no trace, and one that the air explains after all
(a record that came later) stops counting by itself.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta

import numpy as np

from finishing.models import House
from finishing.rules.carried_water import drain_terms, gone_at
from finishing.rules.thickness import LEAST_FACTOR, FoundWet, thickness
from finishing.rules.vocabulary import Stage
from scheduling.models import Report
from scheduling.services.air_layers import Hours
from scheduling.services.done_work import DoneStage
from scheduling.services.laid_coats import coat_amount
from scheduling.services.room_waits import must_be_dry_before
from scheduling.services.room_work import RoomStage, stage_key
from scheduling.services.surveys import AreaSurvey
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline
from scheduling.services.wet_looks import NO_LOOKS, CoatLook, HouseLooks

BEFORE_A_LOOK = timedelta(days=10)
"""Before a coat was found wet: it may have ended so long before."""

type Reports = Mapping[str, Sequence[Report]]
"""By coat (stage key) the reports that it was found wet."""


def house_looks(
    areas: Iterable[AreaSurvey], progress: Hours, timeline: Timeline, reports: Reports
) -> HouseLooks:
    """Return what crews found wet in a house's areas, and what it comes to.

    progress: drying of the table's coat in the house's air, at hour edges from the timeline's
    origin. What is said of a coat that is not done, or was not by then, says nothing.
    """
    looks = [
        look
        for area in areas
        for _, stages in area.rooms
        if any(stage.key in reports for stage in stages)
        for look in _in_room(stages, area.done, progress, timeline, reports)
    ]
    looks.sort(key=lambda look: (look.report.at, look.report.pk))
    return _come_to(looks) if looks else NO_LOOKS


def first_look(houses: Iterable[House], reports: Reports) -> datetime | None:
    """Return from when the air matters for the sake of the first coat found wet; None for none."""
    looks = [
        report.at - BEFORE_A_LOOK
        for house in houses
        for area in house.areas.all()
        for room in area.rooms.all()
        for stage in Stage
        for report in reports.get(stage_key(room, stage), ())
    ]
    return min(looks, default=None)


def _come_to(looks: list[CoatLook]) -> HouseLooks:
    counting = [look for look in looks if not look.report.set_aside]
    found = [look.found for look in counting]
    since = (
        look.report.at
        for number, look in enumerate(counting, start=1)
        if thickness(found[:number]).house.factor > LEAST_FACTOR
    )
    return HouseLooks(tuple(looks), thickness(found), next(since, None))


def _in_room(
    stages: Iterable[RoomStage],
    done: Mapping[str, DoneStage],
    progress: Hours,
    timeline: Timeline,
    reports: Reports,
) -> Iterator[CoatLook]:
    layers = _Layers(progress)
    previous: RoomStage | None = None
    for stage in stages:
        if stage.is_coat:
            if (over := done.get(stage.key)) is None:
                return
            layers.add(stage, over, after_dry=must_be_dry_before(previous))
            for report in reports.get(stage.key, ()):
                if timeline.tick_after(report.at) >= max(over.ended_tick, 0):
                    hour = (report.at - timeline.origin) / timedelta(hours=1)
                    yield CoatLook(report, layers.found_wet(stage, hour))
        previous = stage


class _Layers:
    """The coats done in a room so far, by their own amounts: what they were predicted to do."""

    def __init__(self, progress: Hours) -> None:
        self._progress = progress
        self._amounts: list[float] = []
        self._ends: list[float] = []
        self._dry_between: list[bool] = []

    def add(self, coat: RoomStage, done: DoneStage, *, after_dry: bool) -> None:
        if self._amounts:
            self._dry_between.append(after_dry)
        self._amounts.append(coat_amount(coat))
        self._ends.append(max(done.ended_tick, 0) / TICKS_PER_HOUR)

    def found_wet(self, coat: RoomStage, hour: float) -> FoundWet:
        """Return a look at the last coat. Water of those under it that it has taken up is left in
        it too, but no more than its own counts."""
        looked_at = max(hour, self._ends[-1])
        terms = drain_terms(self._amounts, self._dry_between)
        left = max(amount - self._dried(self._ends[k], looked_at) for k, amount in terms)
        return FoundWet(
            coat=coat.key,
            amount=self._amounts[-1],
            looked_at_hour=looked_at,
            dry_at_hour=gone_at(self._progress, self._ends, terms),
            left=min(left, self._amounts[-1]),
        )

    def _dried(self, first: float, last: float) -> float:
        edges = np.arange(len(self._progress))
        done = np.interp([first, last], edges, self._progress)
        return float(done[1] - done[0])
