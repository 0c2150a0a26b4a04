"""What somebody read off an instrument inside a house."""

from datetime import UTC, datetime

from django.db import transaction

from finishing.models import AirSource, House
from finishing.rules.units import celsius_from_fahrenheit
from finishing.services.air import Reading, store_air
from finishing.services.air_limits import FRACTIONS, are_fractions
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import put_row

COLDEST_C, HOTTEST_C = -30.0, 45.0
"""No house that people work in is colder or hotter."""


def checked_reading(
    *, temperature: float, unit: str, humidity_percent: float, at: datetime, now: datetime
) -> Reading:
    """Return what was read, in Celsius and as a fraction; raise InputFaults with all its faults.

    unit: "C" or "F".
    """
    faults = []
    celsius = celsius_from_fahrenheit(temperature) if unit == "F" else temperature
    if not COLDEST_C <= celsius <= HOTTEST_C:
        hint = " (is it Fahrenheit?)" if unit == "C" and celsius > HOTTEST_C else ""
        said = f"{temperature:g} {unit} cannot be the air of a house{hint}"
        faults.append(Fault("temperature", said))
    if not 0 <= humidity_percent <= 100:
        faults.append(Fault("humidity", f"{humidity_percent:g} is not from 0 to 100 percent"))
    elif are_fractions([humidity_percent]):
        faults.append(Fault("humidity", FRACTIONS))
    if at > now:
        faults.append(Fault("time", f"{at.astimezone(UTC):%Y-%m-%d %H:%MZ} is still to come"))
    if faults:
        raise InputFaults(faults)
    return Reading(round(celsius, 2), round(humidity_percent / 100, 4))


@transaction.atomic
def note_reading(*, house: House, reading: Reading, at: datetime) -> AirSource:
    """Store a reading of a house for the UTC hour it was taken in; the last of an hour counts."""
    source = put_row(
        AirSource,
        match={"company": house.company, "house": house, "kind": AirSource.Kind.READINGS},
        values={"name": f"Readings in {house.name}"},
    )
    hour = at.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    store_air(source=source, readings={hour: reading})
    return source
