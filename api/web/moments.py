"""Moments on the clock of a crew or a house."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.formats import date_format


def local(moment: datetime, zone: str) -> datetime:
    """Return a stored moment on the wall clock of an IANA zone."""
    return moment.astimezone(ZoneInfo(zone))


def hour_text(moment: datetime) -> str:
    """Return the hour of a local moment as "07:30"."""
    return date_format(moment, "H:i")
