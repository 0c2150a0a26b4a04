"""A reading as another program sends it: an object with "at", "humidity_percent" and
"temperature_c" or "temperature_f". Places of faults are as in air_entries.py."""

from datetime import datetime
from typing import Any

from finishing.services.air import Reading
from finishing.services.air_entries import CELSIUS, FAHRENHEIT, moment_of_entry, number_fault
from finishing.services.errors import Fault, InputFaults
from finishing.services.local_times import LocalTimeError
from finishing.services.readings import checked_reading

HUMIDITY = "humidity_percent"


def read_reading_entry(entry: Any, *, now: datetime) -> tuple[datetime, Reading]:
    """Return when a reading was taken, and it; raise InputFaults with all that is wrong."""
    if not isinstance(entry, dict):
        raise InputFaults([Fault("#", "is not an object")])
    column = FAHRENHEIT if FAHRENHEIT in entry else CELSIUS
    faults = [
        Fault("#", f"{key[:40]!r} is not known here: a reading has at, {column}, {HUMIDITY}")
        for key in entry.keys() - {"at", column, HUMIDITY}
    ]
    numbers = {name: number_fault(entry, name) for name in (column, HUMIDITY)}
    faults += [Fault(f"#/{name}", fault) for name, fault in numbers.items() if fault]
    at = now
    try:
        at = moment_of_entry(entry)
    except LocalTimeError as error:
        faults.append(Fault("#/at", str(error)))
    if faults:
        raise InputFaults(faults)
    try:
        reading = checked_reading(
            temperature=entry[column],
            unit="F" if column == FAHRENHEIT else "C",
            humidity_percent=entry[HUMIDITY],
            at=at,
            now=now,
        )
    except InputFaults as found:
        names = {"temperature": column, "humidity": HUMIDITY, "time": "at"}
        raise InputFaults(
            Fault(f"#/{names[fault.place]}", fault.text) for fault in found.faults
        ) from None
    return at, reading
