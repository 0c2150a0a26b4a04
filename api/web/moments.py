"""Moments on the clock of a crew or a house."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.formats import date_format


def local(moment: datetime, zone: str) -> datetime:
    """Return a stored moment on the wall clock of an IANA zone."""
    return moment.astimezone(ZoneInfo(zone))


def hour_text(moment: datetime) -> str:
    """Return the hour of a local moment as "07:30"."""
    return date_format(moment, "H:i")


class Clock:
    """The wall clock of a zone, for pages with thousands of moments: a day is worded once."""

    def __init__(self, zone: ZoneInfo) -> None:
        self.zone = zone
        self._days: dict[date, str] = {}

    def moment(self, instant: datetime) -> str:
        """Return an instant as "Tue 3 Mar 07:30"."""
        at = instant.astimezone(self.zone)
        if at.date() not in self._days:
            self._days[at.date()] = date_format(at, "D j M")
        return f"{self._days[at.date()]} {at:%H:%M}"

    def hour(self, instant: datetime) -> str:
        """Return an instant as "07:30"."""
        return f"{instant.astimezone(self.zone):%H:%M}"
