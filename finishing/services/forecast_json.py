"""An hourly forecast as the Open-Meteo API documents its JSON: read whole or refused whole.

``hourly`` has lists of equal length: ``time`` (UTC, an hour apart), ``temperature_2m`` and
``relative_humidity_2m``, whose units are in ``hourly_units``; ``{"error": true, "reason": ...}``
says why there is none. Members of an ensemble are lists beside them (``forecast_members.py``).
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

from finishing.services.air import Reading
from finishing.services.errors import Fault, InputFaults
from finishing.services.forecast_members import (
    HUMIDITY,
    TEMPERATURE,
    EnsembleRead,
    MemberAir,
    read_ensemble,
)
from finishing.services.hourly_series import Series, short

HOUR, DAY = timedelta(hours=1), timedelta(days=1)


@dataclass(frozen=True)
class Forecast:
    """The air by UTC hour, and what there is of an ensemble over the same hours."""

    air: Mapping[datetime, Reading]
    ensemble: EnsembleRead


def read_forecast(*, name: str, content: bytes, now: datetime) -> Forecast:
    """Return the forecast; raise InputFaults with all that is wrong with its air.

    name: what faults call the answer. Refused are also values that are missing, and a forecast
    that does not reach a day past ``now``. Members do not count for that: what is wrong with them
    is told in the ensemble.
    """
    series = _series(name, content)
    hours = _hours(series)
    temperature_c, percent = series.air(TEMPERATURE, HUMIDITY, hours=len(hours))
    _check_reach(series, hours, now)
    if series.faults:
        raise InputFaults(series.faults)
    main = MemberAir.of(TEMPERATURE, temperature_c, percent)
    air = {
        hour: Reading(*values)
        for hour, *values in zip(hours, main.temperature_c, main.humidity, strict=True)
    }
    return Forecast(air, read_ensemble(series, main))


def reason_given(content: bytes) -> str:
    """Return why the server has no forecast, in its words, which may be many and may hold the key;
    "" where it does not say."""
    try:
        answer = json.loads(content)
    except (ValueError, RecursionError):
        return ""
    reason = answer.get("reason") if isinstance(answer, dict) else None
    return _printable(reason) if isinstance(reason, str) else ""


def _series(name: str, content: bytes) -> Series:
    try:
        answer = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise _refused(name, _why_no_json(content, error)) from None
    if isinstance(answer, dict) and answer.get("error"):
        raise _refused(name, f"the server says: {reason_given(content) or 'an error'}")
    hourly = answer.get("hourly") if isinstance(answer, dict) else None
    units = answer.get("hourly_units") if isinstance(answer, dict) else None
    if not isinstance(hourly, dict) or not isinstance(units, dict):
        raise _refused(name, "the answer has no hourly air (hourly and hourly_units)")
    if answer.get("utc_offset_seconds") != 0:
        raise _refused(name, "times must be UTC (utc_offset_seconds 0)")
    return Series(name, hourly, units)


def _refused(name: str, text: str) -> InputFaults:
    return InputFaults([Fault(name, text)])


def _why_no_json(content: bytes, error: Exception) -> str:
    """Say what is there in place of JSON. Nothing of it is quoted: such pages like to repeat the
    address that was asked, with its key."""
    if not content.strip():
        return "the answer is empty, not JSON"
    if content.lstrip().startswith(b"<"):
        return "the answer is a web page, not JSON"
    if isinstance(error, json.JSONDecodeError):
        if error.pos >= len(error.doc.rstrip()) or error.msg.startswith("Unterminated"):
            return f"the answer breaks off: it is no whole JSON, and ends at byte {len(content)}"
        return f"the answer is no JSON (line {error.lineno}, column {error.colno})"
    return "the answer is no JSON"


def _printable(text: str) -> str:
    return "".join(mark if mark.isprintable() else " " for mark in text)


def _hours(series: Series) -> list[datetime]:
    hours = []
    for number, text in enumerate(series.given("time")):
        hour = _hour(text)
        if hour is None:
            said = f"{short(text)} is not an hour such as 2026-03-02T15:00"
            series.fault(f"time[{number}]", said)
            return []
        hours.append(hour)
    for number, (before, after) in enumerate(pairwise(hours), 1):
        if after - before != HOUR:
            said = f"{after:%Y-%m-%d %H:%MZ} does not follow {before:%Y-%m-%d %H:%MZ} by an hour"
            series.fault(f"time[{number}]", said)
    return hours


def _hour(text: Any) -> datetime | None:
    try:
        hour = datetime.fromisoformat(text)
    except (TypeError, ValueError):
        return None
    on_the_hour = hour == hour.replace(minute=0, second=0, microsecond=0)
    return hour.replace(tzinfo=UTC) if on_the_hour and not hour.utcoffset() else None


def _check_reach(series: Series, hours: list[datetime], now: datetime) -> None:
    if hours and (hours[0] - now > DAY or hours[-1] - now < DAY):
        said = f"{hours[0]:%Y-%m-%d %H:%MZ} to {hours[-1]:%Y-%m-%d %H:%MZ} is not the day ahead"
        series.fault("time", said)
