"""The stored air of a house's sources: the weather it has, and what was measured inside."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from finishing.models import AirSource
from finishing.queries.air import RecentAir
from finishing.queries.air_sources import HouseSources
from scheduling.services.air_layers import A_DAY, ASSUMED, DAYS_LOOKED_AT, Layer, without_holes
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline
from scheduling.services.weather_shift import WeatherShift, shifted

SPARE_HOURS = 45 * 24
"""Air is looked at so far past the horizon, so that the last coats' drying is known too."""
HOUR = timedelta(hours=1)


@dataclass(frozen=True)
class Weather:
    """A house's air but for what was measured inside, without holes; ``air.kinds`` says which
    hours are assumed.

    It is outdoor air, from the station and the forecast, unless there is none: then it is that
    of the house's own logger, and ``inside``. sources: those it comes from, the firmest first.
    """

    air: Layer
    sources: tuple[AirSource, ...]
    inside: bool


class StoredAir:
    """Layers of a house's air, all over the same hours from a timeline's origin on."""

    def __init__(
        self,
        sources: HouseSources,
        timeline: Timeline,
        now: datetime,
        recent: RecentAir | None = None,
        shifts: Sequence[WeatherShift] = (),
    ) -> None:
        """recent: of these sources among others, where it has been read already. shifts: what is
        tried of the weather to come."""
        self._shifts = shifts
        self.sources = sources
        self._recent = recent_air(sources, timeline) if recent is None else recent
        first_hour = _first_hour(sources, timeline, self._recent)
        self._first_hour = first_hour
        self._past = (timeline.origin - first_hour) // HOUR
        self._hours = self._past + timeline.horizon // TICKS_PER_HOUR + SPARE_HOURS
        self._now = (now.astimezone(UTC) - first_hour) // HOUR
        self.logger = self._layer(sources.logger, "logger")

    def readings(self) -> Layer:
        """Return what people have read in the house."""
        return self._cut(self._layer(self.sources.readings, "reading"))

    def logged(self) -> Layer | None:
        """Return the logger's air without holes; None where it knows less than a day."""
        filled = without_holes(self.logger)
        return self._cut(Layer(*filled, self.logger.kinds)) if filled else None

    def weather(self) -> Weather | None:
        """Return the weather; None where no whole day of any is known."""
        outdoors = self._outdoors()
        if filled := without_holes(outdoors):
            found = (self.sources.station, self.sources.forecast)
            firmest_first = tuple(source for source in found if source)
            air = shifted(
                Layer(*filled, outdoors.kinds),
                self._shifts,
                first_hour=self._first_hour,
                now_hour=self._now,
            )
            return Weather(self._cut(air), firmest_first, inside=False)
        logged = self.logged()
        if logged is None or self.sources.logger is None:
            return None
        return Weather(logged, (self.sources.logger,), inside=True)

    def _outdoors(self) -> Layer:
        """Hours to come follow the forecast and then the record, hours gone by the record and
        then what was forecast of them."""
        forecast = self._layer(self.sources.forecast, "forecast")
        record = self._layer(self.sources.station, "record")
        return forecast.first_from(self._now).over(record).over(forecast)

    def _layer(self, source: AirSource | None, kind: str) -> Layer:
        if source is None:
            unknown = np.full(self._hours, np.nan)
            return Layer(unknown, unknown, np.full(self._hours, ASSUMED, dtype=np.int8))
        air = self._recent.hourly(source, first_hour=self._first_hour, hours=self._hours)
        return Layer.of(air, kind)

    def _cut(self, layer: Layer) -> Layer:
        return layer.picked(slice(self._past, None))


def recent_air(sources: Iterable[AirSource], timeline: Timeline) -> RecentAir:
    """Read what layers over a timeline may need of some sources."""
    return RecentAir(
        sources,
        first_day=timeline.origin.date(),
        last_days=timedelta(days=DAYS_LOOKED_AT),
    )


def _first_hour(sources: HouseSources, timeline: Timeline, recent: RecentAir) -> datetime:
    """Return from when to read, so that the last days known of the weather are among what is read:
    those of the source that is known longest, if that knows a day, or else of the next."""
    rows = (sources.station, sources.forecast, sources.logger)
    spans = [(span[1], row) for row in rows if row and (span := recent.span(row))]
    starts = [timeline.origin]
    for end, row in sorted(spans, key=lambda found: found[0], reverse=True):
        starts.append(end - timedelta(days=DAYS_LOOKED_AT))
        air = recent.hourly(row, first_hour=starts[-1], hours=DAYS_LOOKED_AT * A_DAY)
        if np.isfinite(air.temperature_c + air.humidity).sum() >= A_DAY:
            break
    return min(starts)
