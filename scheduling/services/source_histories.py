"""Histories of the air in houses, drawn from what is on record around what is forecast."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta

import numpy as np

from finishing.models import AirSource, House
from finishing.queries.air import hourly_air, known_span
from finishing.queries.air_sources import HouseSources
from finishing.queries.ensembles import Ensemble, ensemble_of
from finishing.rules.climate import Air
from finishing.rules.histories import (
    Record,
    TooLittleRecordError,
    draw_histories,
    forecast_skill,
)
from scheduling.services.air_layers import ASSUMED, Layer
from scheduling.services.house_air import air_inside
from scheduling.services.stored_air import StoredAir, Weather
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline
from scheduling.services.weather_shift import WeatherShift

_A_DAY, _HOUR = timedelta(days=1), timedelta(hours=1)


class TooLittleAirError(Exception):
    """An air source has too few days on record to draw from; ``days`` says how many."""

    def __init__(self, source: AirSource, days: int) -> None:
        super().__init__(source, days)  # as it is made again from what is kept of it
        self.source, self.days = source, days

    def __str__(self) -> str:
        return f"{self.source}: {self.days} whole days of the season on record"


@dataclass
class DrawnAir:
    """Draws so many histories from a UTC midnight on, of whole days at least until a tick.

    Houses of the same station and forecast share one draw, so that in each history they share one
    weather. shifts: what is tried of the weather to come; members of an ensemble, which tell of
    other weather, are left aside then. ensembles: those drawn from, by forecast (pk).
    """

    timeline: Timeline
    now: datetime
    first: datetime
    until: int
    count: int
    seed: int
    shifts: Sequence[WeatherShift] = ()
    drawn: dict[tuple[int, ...], Air] = field(default_factory=dict)
    ensembles: dict[int, Ensemble] = field(default_factory=dict)

    @property
    def start(self) -> int:
        """The hour of the timeline at which the histories begin."""
        return (self.first - self.timeline.origin) // _HOUR

    def inside(self, house: House, sources: HouseSources) -> Air:
        """Return histories of the air in a house that has some, as ``air_inside`` has it; raise
        TooLittleAirError."""
        stored = StoredAir(sources, self.timeline, self.now, shifts=self.shifts)
        weather = stored.weather()
        assert weather is not None, "a house without air is held before"
        return air_inside(house, weather, self._of(weather))

    def _of(self, weather: Weather) -> Air:
        key = tuple(source.pk for source in weather.sources)
        if key not in self.drawn:
            self.drawn[key] = self._draw(weather)
        return self.drawn[key]

    def _draw(self, weather: Weather) -> Air:
        """What is known before now is the same in all; after it, that is a forecast, and past its
        end the air is assumed. Drawn are the members of the forecast's ensemble, and the whole days
        before now."""
        ahead = self._cut(weather.air)
        ensemble = self._ensemble(weather, len(ahead.kinds))
        known = ahead.kinds != ASSUMED
        to_come = np.arange(len(known)) > (self.now - self.first) // _HOUR
        there, beyond = (
            np.cumsum(hours, dtype=np.float64) for hours in (known & to_come, ~known & to_come)
        )
        try:
            return draw_histories(
                _record(weather.sources, self.now),
                Air(ahead.temperature_c, ahead.humidity),
                first_day=self.first.date(),
                skill=forecast_skill(there, beyond),
                histories=self.count,
                seed=self.seed,
                members=ensemble.members if ensemble else None,
            )
        except TooLittleRecordError as error:
            raise TooLittleAirError(weather.sources[0], error.days) from None

    def _ensemble(self, weather: Weather, hours: int) -> Ensemble | None:
        forecast = next(
            (row for row in weather.sources if row.kind == AirSource.Kind.FORECAST), None
        )
        if forecast is None or self.shifts:
            return None
        found = ensemble_of(forecast, first_hour=self.first, hours=hours, now=self.now)
        if found:
            self.ensembles[forecast.pk] = found
        return found

    def _cut(self, layer: Layer) -> Layer:
        days = -(-(self.until // TICKS_PER_HOUR - self.start) // 24)
        return layer.picked(slice(self.start, self.start + days * 24))


def _record(sources: Sequence[AirSource], now: datetime) -> Record:
    """Return what sources, the firmest first, have on record of the whole UTC days before now."""
    today = now.astimezone(UTC).date()
    begins = [span[0].date() for source in sources if (span := known_span(source))]
    first = min([*begins, today - _A_DAY])
    at, days = datetime.combine(first, time.min, UTC), (today - first).days
    temperature_c, humidity = np.full((2, days * 24), np.nan)
    for source in sources:
        air = hourly_air(source, first_hour=at, hours=days * 24)
        unknown = np.isnan(temperature_c + humidity)
        temperature_c = np.where(unknown, air.temperature_c, temperature_c)
        humidity = np.where(unknown, air.humidity, humidity)
    return Record(first, temperature_c.reshape(days, 24), humidity.reshape(days, 24))
