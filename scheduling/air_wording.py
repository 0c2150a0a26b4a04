"""Sources of air and wet coats -> sentences."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.translation import gettext, ngettext

from finishing.models import AirSource
from scheduling.wording import governs_name, moment, stage_name


def age(span: timedelta) -> str:
    """Return a span in its largest whole unit: minutes, hours or days."""
    minutes = int(span.total_seconds() // 60)
    if minutes < 60:
        return ngettext("%(n)s minute", "%(n)s minutes", minutes) % {"n": minutes}
    if (hours := minutes // 60) < 48:
        return ngettext("%(n)s hour", "%(n)s hours", hours) % {"n": hours}
    return ngettext("%(n)s day", "%(n)s days", hours // 24) % {"n": hours // 24}


def forecast_sentence(source: AirSource, now: datetime) -> str:
    """Say how old a forecast is, and what went wrong since."""
    if source.fetched_at is None:
        said = gettext("none was fetched yet")
    else:
        said = gettext("fetched %(age)s ago") % {"age": age(now - source.fetched_at)}
    if not source.failure or source.failed_at is None:
        return said
    failed = gettext("the attempt %(age)s ago failed: %(why)s")
    values = {"age": age(now - source.failed_at), "why": source.failure}
    return f"{said}; {failed % values}"


def wet_sentence(
    *, room: str, stage: str, coat: str, ready_at: datetime, reason: str, air: str, zone: ZoneInfo
) -> str:
    """Say which coat a stage comes too early for, and when that is ready by what."""
    said = gettext("%(stage)s (%(room)s) over %(coat)s, which is ready %(moment)s %(governs)s")
    return said % {
        "stage": stage_name(stage),
        "room": room,
        "coat": stage_name(coat),
        "moment": moment(ready_at, zone),
        "governs": governs_name(reason, air),
    }
