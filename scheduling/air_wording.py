"""Sources of air, wet coats and air unfit for coats -> sentences."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from finishing.models import AirSource
from finishing.queries.air import Known
from finishing.queries.air_sources import CompanyAir
from scheduling.wording import air_known, figure, governs_name, listed, moment, stage_name


def age(span: timedelta) -> str:
    """Return a span in its largest whole unit: minutes, hours or days."""
    minutes = int(span.total_seconds() // 60)
    if minutes < 60:
        return ngettext("%(n)s minute", "%(n)s minutes", minutes) % {"n": minutes}
    if (hours := minutes // 60) < 48:
        return ngettext("%(n)s hour", "%(n)s hours", hours) % {"n": hours}
    return ngettext("%(n)s day", "%(n)s days", hours // 24) % {"n": hours // 24}


def ago(instant: datetime, now: datetime) -> str:
    """Say how long ago something was, or how much later it is, to one who looks back from it."""
    if instant > now:
        return gettext("%(age)s later") % {"age": age(instant - now)}
    return gettext("%(age)s ago") % {"age": age(now - instant)}


def forecast_sentence(source: AirSource, now: datetime) -> str:
    """Say how old a forecast is, what was wrong with its ensemble, and what went wrong since."""
    if source.fetched_at is None:
        said = gettext("none was fetched yet")
    else:
        said = gettext("fetched %(ago)s") % {"ago": ago(source.fetched_at, now)}
    if source.member_faults:
        said = f"{said}; {source.member_faults}"
    if not source.failure or source.failed_at is None:
        return said
    failed = gettext("the attempt %(ago)s failed: %(why)s")
    return f"{said}; {failed % {'ago': ago(source.failed_at, now), 'why': source.failure}}"


def shared_forecast_sentence(air: CompanyAir) -> str:
    """Say which forecast houses without a position have."""
    if air.shared_forecast:
        return gettext("%(source)s is used in its place") % {"source": air.shared_forecast}
    if air.has_forecasts:
        return gettext("those of the company are for places too far apart: give a position")
    return gettext("nor has any other house")


def reach_sentence(known: Known | None, now: datetime) -> str:
    """Say how far what a source knows reaches: into the past or ahead."""
    if known is None:
        return gettext("no hour known")
    _first, end = known
    if end > now:
        return gettext("reaches %(age)s ahead") % {"age": age(end - now)}
    return gettext("its newest hour is %(age)s old") % {"age": age(now - end)}


def air_sentence(temperature_c: float, humidity: float, kind: str) -> str:
    """Say what an hour's air is, humidity given as a fraction, and how that is known."""
    values = {"air_c": f"{temperature_c:.1f}", "percent": f"{humidity:.0%}"[:-1]}
    return listed([gettext("%(air_c)s °C, %(percent)s %%") % values, air_known(kind)])


_UNFIT: dict[str, Promise] = {
    "too_cold": _("%(stage)s (%(room)s): %(moment)s its air is at %(air_c)s °C, below %(limit_c)s"),
    "too_hot": _("%(stage)s (%(room)s): %(moment)s its air is at %(air_c)s °C, above %(limit_c)s"),
}


def unfit_sentence(
    *,
    room: str,
    stage: str,
    code: str,
    hour: datetime,
    temperature_c: float,
    limit_c: float,
    air: str,
    zone: ZoneInfo,
) -> str:
    """Say from when on the air is too cold, or too hot, for what a stage puts on."""
    said = str(_UNFIT[code]) % {
        "stage": stage_name(stage),
        "room": room,
        "moment": moment(hour, zone),
        "air_c": figure(temperature_c),
        "limit_c": figure(limit_c),
    }
    return f"{said}, {air_known(air)}"


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
