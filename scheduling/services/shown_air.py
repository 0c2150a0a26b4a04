"""A house's air as it is known now, for showing."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from finishing.models import AirSource, House
from finishing.queries.air import known_span
from finishing.queries.air_sources import CompanyAir
from scheduling.services.house_air import assumed_from, house_air
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline

HOURS_SHOWN = 7 * 24


@dataclass(frozen=True)
class ShownHour:
    """Indoor air of an hour, humidity as a fraction, and what it rests on."""

    hour: datetime
    temperature_c: float
    humidity: float
    kind: str


@dataclass(frozen=True)
class ShownAir:
    """A house's sources with the hours each knows, and its air from now on, if it can be known."""

    sources: tuple[tuple[AirSource, tuple[datetime, datetime] | None], ...]
    hours: tuple[ShownHour, ...]
    assumed_from: datetime | None


def air_to_show(*, house: House, now: datetime) -> ShownAir:
    """Return the air of a house from the hour of ``now`` on."""
    sources = CompanyAir(house.company).of(house)
    origin = now.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    timeline = Timeline(origin, HOURS_SHOWN * TICKS_PER_HOUR)
    air = house_air(house, sources, timeline, now)
    known = tuple((source, known_span(source)) for source in sources)
    if air is None:
        return ShownAir(known, (), None)
    hours = tuple(
        ShownHour(
            origin + timedelta(hours=number),
            float(air.temperature_c[number]),
            float(air.humidity[number]),
            air.source_between(number * TICKS_PER_HOUR, (number + 1) * TICKS_PER_HOUR),
        )
        for number in range(HOURS_SHOWN)
    )
    return ShownAir(known, hours, assumed_from(air, timeline))
