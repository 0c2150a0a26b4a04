"""A house's air as it is known now, for showing."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from finishing.models import AirSource, House
from finishing.queries.air import known_span
from finishing.queries.air_sources import CompanyAir
from scheduling.services.house_air import HouseAir, assumed_from
from scheduling.services.inputs import build_inputs
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline

HOURS_SHOWN = 7 * 24


@dataclass(frozen=True)
class ShownHour:
    """Indoor air of an hour, humidity as a fraction, what it rests on, and the water that is still
    in the coats at its end."""

    hour: datetime
    temperature_c: float
    humidity: float
    kind: str
    water_left_kg: float


@dataclass(frozen=True)
class ShownAir:
    """A house's sources with the hours each knows, and its air from now on, if it can be known.

    hold: where it cannot, the code of the hold that says why; "" for a house no longer planned.
    """

    sources: tuple[tuple[AirSource, tuple[datetime, datetime] | None], ...]
    hours: tuple[ShownHour, ...]
    assumed_from: datetime | None
    hold: str = ""


def air_to_show(*, house: House, now: datetime) -> ShownAir:
    """Return the air of a house from the hour of ``now`` on, with the coats in it; no hours for a
    house that is on hold for want of air or no longer planned."""
    sources = CompanyAir(house.company).of(house)
    known = tuple((source, known_span(source)) for source in sources)
    inputs = build_inputs(company=house.company, now=now)
    air = inputs.airs.get(str(house.public_id))
    if air is None:
        holds = (hold.code for hold in inputs.holds if hold.house == house and not hold.area)
        return ShownAir(known, (), None, next(holds, ""))
    first = _hour_number(inputs.timeline, now)
    hours = _hours(air, inputs.timeline, range(first, first + HOURS_SHOWN))
    return ShownAir(known, hours, assumed_from(air, inputs.timeline))


def hours_between(
    *, house: House, now: datetime, first: datetime, end: datetime
) -> tuple[ShownHour, ...] | None:
    """Return a house's air from the hour of ``first`` until before ``end``, as far as planning
    looks back and ahead at ``now``; None where none can be known, or there is no work to plan."""
    inputs = build_inputs(company=house.company, now=now)
    air = inputs.airs.get(str(house.public_id))
    if air is None:
        return None
    start = max(_hour_number(inputs.timeline, first), 0)
    past = min(-((inputs.timeline.origin - end) // timedelta(hours=1)), len(air.temperature_c))
    return _hours(air, inputs.timeline, range(start, past))


def _hour_number(timeline: Timeline, moment: datetime) -> int:
    return timeline.tick_before(moment.astimezone(UTC)) // TICKS_PER_HOUR


def _hours(air: HouseAir, timeline: Timeline, numbers: range) -> tuple[ShownHour, ...]:
    return tuple(shown_hour(air, timeline, number) for number in numbers)


def shown_hour(air: HouseAir, timeline: Timeline, number: int) -> ShownHour:
    """Return the air of an hour, counted from the timeline's origin."""
    return ShownHour(
        timeline.instant(number * TICKS_PER_HOUR),
        float(air.temperature_c[number]),
        float(air.humidity[number]),
        air.source_between(number * TICKS_PER_HOUR, (number + 1) * TICKS_PER_HOUR),
        float(air.water.in_coats_kg[number]),
    )
