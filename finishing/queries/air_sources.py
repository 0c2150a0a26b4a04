"""Which stored air speaks for a house."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from finishing.models import AirSource, Company, House
from finishing.rules.distance import great_circle_km

PLACE_DECIMALS = 2
"""Positions so close (about a kilometre) share a forecast, whose grid is no finer."""

ONE_WEATHER_KM = 50.0
"""Places no farther apart share a forecast where one of them has no position. Common practice, no
published source: a day's drive of a crew, and a few cells of a forecast's grid."""


class Place(NamedTuple):
    """Degrees, rounded to where a forecast makes a difference."""

    latitude: float
    longitude: float


@dataclass(frozen=True)
class HouseSources:
    """A house's air: read or logged inside it, forecast for its place, recorded outdoors."""

    readings: AirSource | None = None
    logger: AirSource | None = None
    forecast: AirSource | None = None
    station: AirSource | None = None

    def __iter__(self) -> Iterator[AirSource]:
        found = (self.readings, self.logger, self.forecast, self.station)
        return (source for source in found if source)


def forecast_place(house: House) -> Place | None:
    """Return the place that a house's forecast is for; None for a house without a position."""
    if house.latitude is None or house.longitude is None:
        return None
    return Place(round(house.latitude, PLACE_DECIMALS), round(house.longitude, PLACE_DECIMALS))


class CompanyAir:
    """A company's sources, read once for all its houses."""

    def __init__(self, company: Company) -> None:
        self._company = company
        self._sources = list(AirSource.objects.filter(company=company).order_by("pk"))

    def of(self, house: House) -> HouseSources:
        """Return the sources of a house.

        A house names its station or logger. One that names no station has the company's only
        one, and one without a position the shared forecast.
        """
        kind = AirSource.Kind
        return HouseSources(
            readings=next((row for row in self._sources if row.house_id == house.pk), None),
            logger=self._named(house, kind.LOGGER),
            forecast=self._forecast(house),
            station=self._named(house, kind.STATION) or self._only(kind.STATION),
        )

    @property
    def has_forecasts(self) -> bool:
        """Whether there is a forecast of any place."""
        return any(row.kind == AirSource.Kind.FORECAST for row in self._sources)

    @cached_property
    def shared_forecast(self) -> AirSource | None:
        """The forecast of houses without a position: the company's only one, or of several the one
        nearest to all others, if none of them is for another weather. Forecasts of places where
        there is no house to plan any more do not count."""
        if only := self._only(AirSource.Kind.FORECAST):
            return only
        found = {
            Place(row.latitude, row.longitude): row
            for row in self._sources
            if row.latitude is not None and row.longitude is not None
        }
        if len(found) > 1:
            houses = House.objects.filter(company=self._company, is_active=True)
            places = {forecast_place(house) for house in houses}
            found = {place: row for place, row in found.items() if place in places}
        farthest = {a: max(great_circle_km(a, b) for b in found) for a in found}
        middle = min(found, key=lambda place: farthest[place], default=None)
        return found[middle] if middle and farthest[middle] <= ONE_WEATHER_KM else None

    def _named(self, house: House, kind: AirSource.Kind) -> AirSource | None:
        found = (row for row in self._sources if row.pk == house.air_source_id)
        return next((row for row in found if row.kind == kind), None)

    def _forecast(self, house: House) -> AirSource | None:
        place = forecast_place(house)
        if place is None:
            return self.shared_forecast
        here = (row for row in self._sources if (row.latitude, row.longitude) == place)
        return next(here, None)

    def _only(self, kind: AirSource.Kind) -> AirSource | None:
        found = [row for row in self._sources if row.kind == kind]
        return found[0] if len(found) == 1 else None
