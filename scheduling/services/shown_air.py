"""A house's air as it is known now, for showing."""

from dataclasses import dataclass
from datetime import UTC, datetime

from finishing.models import AirSource, House
from finishing.queries.air import known_span
from finishing.queries.air_sources import CompanyAir
from scheduling.services.house_air import assumed_from
from scheduling.services.inputs import build_inputs
from scheduling.services.timeline import TICKS_PER_HOUR

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
    """Return the air of a house from the hour of ``now`` on, with the coats in it; no hours for a
    house that has no work to plan."""
    sources = CompanyAir(house.company).of(house)
    known = tuple((source, known_span(source)) for source in sources)
    inputs = build_inputs(company=house.company, now=now)
    air = inputs.airs.get(str(house.public_id))
    if air is None:
        return ShownAir(known, (), None)
    first = inputs.timeline.tick_before(now.astimezone(UTC)) // TICKS_PER_HOUR
    hours = tuple(
        ShownHour(
            inputs.timeline.instant(number * TICKS_PER_HOUR),
            float(air.temperature_c[number]),
            float(air.humidity[number]),
            air.source_between(number * TICKS_PER_HOUR, (number + 1) * TICKS_PER_HOUR),
        )
        for number in range(first, first + HOURS_SHOWN)
    )
    return ShownAir(known, hours, assumed_from(air, inputs.timeline))
