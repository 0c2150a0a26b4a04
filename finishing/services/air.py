"""Writing hourly air: one row per source and UTC day."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial

from django.db import transaction
from django.dispatch import Signal

from finishing.models import AirDay, AirSource, Company, House
from finishing.services.errors import Fault, InputFaults
from finishing.services.many_rows import Wanted, put_rows
from finishing.services.rows import put_row

air_stored = Signal()
"""Sent once new air of a ``source`` is stored; whoever hears of it cannot undo it."""

HOURS = 24
KEPT_NAMES = ("Forecast ", "Readings in ")
"""How the sources begin that forecasts (forecasts.py) and readings (readings.py) are stored as."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One hour's air: Celsius, and relative humidity as a fraction.

    read_s: how many seconds into its hour somebody read it, None where it is the hour's own.
    """

    temperature_c: float
    humidity: float
    read_s: float | None = None


def put_air_source(*, company: Company, name: str, kind: AirSource.Kind | None = None) -> AirSource:
    """Return the source of this name; without a kind an existing one keeps its own.

    Raises InputFaults for a name such as those of forecasts and of people's readings.
    """
    if taken := next((begin for begin in KEPT_NAMES if name.startswith(begin)), None):
        said = f'names that begin with "{taken.strip()}" are kept for our own: give another'
        raise InputFaults([Fault(f"source {name!r}", said)])
    values = {} if kind is None else {"kind": kind}
    return put_row(AirSource, match={"company": company, "name": name}, values=values)


@transaction.atomic
def store_air(*, source: AirSource, readings: Mapping[datetime, Reading]) -> None:
    """Store readings by UTC hour; hours stored before are overwritten, all others kept.

    Of two that people read in the same hour the later one stays, whichever comes first: phones
    without signal send theirs when they have it again.
    """
    by_day: dict[date, dict[int, Reading]] = {}
    for hour, reading in readings.items():
        by_day.setdefault(hour.date(), {})[hour.hour] = reading
    AirSource.objects.select_for_update().get(pk=source.pk)  # one writer at a time fills a day
    rows = AirDay.objects.filter(source=source, day__in=by_day)
    stored = {row.day: row for row in rows}
    put_rows(
        rows,
        [
            Wanted(
                {"company_id": source.company_id, "source": source, "day": day},
                _day_with(stored.get(day), hours),
            )
            for day, hours in by_day.items()
        ],
    )
    told = partial(air_stored.send_robust, sender=AirSource, source=source)
    transaction.on_commit(told, robust=True)


def _day_with(row: AirDay | None, hours: Mapping[int, Reading]) -> dict[str, list[float | None]]:
    """Return a day's values, those stored with these hours over them."""
    temperature_c = list(row.temperature_c) if row else [None] * HOURS
    humidity = list(row.humidity) if row else [None] * HOURS
    read_s = list(row.read_s) if row and row.read_s else [None] * HOURS
    for place, reading in hours.items():
        if not _is_older(reading.read_s, read_s[place]):
            temperature_c[place], humidity[place] = reading.temperature_c, reading.humidity
            read_s[place] = reading.read_s
    known = any(one is not None for one in read_s)
    return {
        "temperature_c": temperature_c,
        "humidity": humidity,
        "read_s": read_s if known else [],
    }


def _is_older(read_s: float | None, stored_s: float | None) -> bool:
    return read_s is not None and stored_s is not None and read_s < stored_s


def link_air(*, house: House, source: AirSource) -> House:
    """Make a source the air of a house."""
    return put_row(House, match={"pk": house.pk}, values={"air_source": source})
