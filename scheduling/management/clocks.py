"""Times as commands are given them, on a zone's clock."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from finishing.services.errors import Fault, InputFaults
from finishing.services.local_times import LocalTimeError, read_local, utc_of
from scheduling.services.timeline import local_instant


def time_in(text: str, zone: str, today: date | None) -> datetime:
    """Read "2026-03-02 14:30", or "14:30" of today, on a zone's clock; raise InputFaults."""
    clock = ZoneInfo(zone)
    day = today or timezone.now().astimezone(clock).date()
    try:
        return utc_of(read_local(f"{day} {text}" if len(text) == len("14:30") else text), clock)
    except LocalTimeError as error:
        raise InputFaults([Fault("time", str(error))]) from None


def latest_moment(zone: str, today: date | None) -> datetime:
    """Return now, or where a command acts as on a day the end of that day in a zone."""
    if today is None:
        return timezone.now()
    return local_instant(today + timedelta(days=1), time.min, ZoneInfo(zone))
