"""What somebody read off an instrument inside a house."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import AirSource, Crew, House, SentReading
from finishing.rules.units import celsius_from_fahrenheit
from finishing.services.air import Reading, store_air
from finishing.services.air_limits import FRACTIONS, are_fractions
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import put_row

COLDEST_C, HOTTEST_C = -30.0, 45.0
"""No house that people work in is colder or hotter."""


class OtherReadingError(Exception):
    """A form that has come before now says something else; ``first`` is what it said then."""

    def __init__(self, first: SentReading) -> None:
        self.first = first
        super().__init__(str(first))


def checked_reading(
    *, temperature: float, unit: str, humidity_percent: float, at: datetime, now: datetime
) -> Reading:
    """Return what was read, in Celsius and as a fraction; raise InputFaults with all its faults.

    unit: "C" or "F".
    """
    faults = [*temperature_faults(temperature, unit), *humidity_faults(humidity_percent)]
    if at > now:
        faults.append(Fault("time", f"{at.astimezone(UTC):%Y-%m-%d %H:%MZ} is still to come"))
    if faults:
        raise InputFaults(faults)
    return Reading(round(_celsius(temperature, unit), 2), round(humidity_percent / 100, 4))


def temperature_faults(temperature: float, unit: str) -> Iterator[Fault]:
    """Yield what is wrong with a temperature read in a house."""
    celsius = _celsius(temperature, unit)
    if not COLDEST_C <= celsius <= HOTTEST_C:
        said = _("%(read)s cannot be the air of a house") % {"read": f"{temperature:g} {unit}"}
        hint = _(" (is it Fahrenheit?)") if unit == "C" and celsius > HOTTEST_C else ""
        yield Fault("temperature", said + hint)


def humidity_faults(percent: float) -> Iterator[Fault]:
    """Yield what is wrong with a relative humidity in percent."""
    if not 0 <= percent <= 100:
        said = _("%(read)s is not from 0 to 100 percent") % {"read": f"{percent:g}"}
        yield Fault("humidity", said)
    elif are_fractions([percent]):
        yield Fault("humidity", _(FRACTIONS))


@transaction.atomic
def note_reading(*, house: House, reading: Reading, at: datetime) -> AirSource:
    """Store a reading of a house for the UTC hour it was taken in, of which the one counts that
    was read last."""
    source = put_row(
        AirSource,
        match={"company": house.company, "house": house, "kind": AirSource.Kind.READINGS},
        values={"name": f"Readings in {house.name}"},
    )
    hour = _hour(at)
    read = replace(reading, read_s=(at - hour).total_seconds())
    store_air(source=source, readings={hour: read})
    return source


@transaction.atomic
def note_sent_reading(
    *, sent_as: UUID, crew: Crew, house: House, reading: Reading, at: datetime
) -> SentReading:
    """Store the reading of a form, once however often it is sent; return what came first.

    Raise OtherReadingError, and store nothing, where the form has come with another reading.
    """
    said = {"house": house, "temperature_c": reading.temperature_c, "humidity": reading.humidity}
    # Of two that come at the same time, the database's constraint lets one in.
    sent, is_new = SentReading.objects.get_or_create(
        company=crew.company,
        sent_as=sent_as,
        defaults={"crew": crew, "hour": _hour(at), **said},
    )
    if is_new:
        sent.full_clean()
        note_reading(house=house, reading=reading, at=at)
    elif any(getattr(sent, name) != value for name, value in said.items()):
        raise OtherReadingError(sent)
    return sent


def _celsius(temperature: float, unit: str) -> float:
    return celsius_from_fahrenheit(temperature) if unit == "F" else temperature


def _hour(at: datetime) -> datetime:
    return at.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
