"""An hourly forecast as the Open-Meteo API documents its JSON: read whole or refused whole.

``hourly`` has lists of equal length: ``time`` (UTC, an hour apart), ``temperature_2m`` and
``relative_humidity_2m``, whose units are in ``hourly_units``; ``{"error": true, "reason": ...}``
says why there is none.
"""

import json
import math
import reprlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

from finishing.rules.units import celsius_from_fahrenheit
from finishing.services.air import Reading
from finishing.services.air_limits import (
    COLDEST_C,
    FRACTIONS,
    HOTTEST_C,
    are_fractions,
    fahrenheit_mean,
)
from finishing.services.errors import Fault, InputFaults

TEMPERATURE, HUMIDITY = "temperature_2m", "relative_humidity_2m"
HOUR, DAY = timedelta(hours=1), timedelta(days=1)

_SHORT = reprlib.Repr(maxstring=60, maxlong=40, maxother=60, maxlevel=2, maxlist=4, maxdict=4)
"""A value in a message is cut, so that no answer fills the page."""

type Reader = Callable[[Any], float | None]
"""Takes a value of one unit; gives None for what cannot be."""


@dataclass
class _Series:
    """The lists of an answer, with the faults found so far."""

    name: str
    hourly: dict[str, Any]
    units: dict[str, Any]
    faults: list[Fault] = field(default_factory=list)

    def fault(self, key: str, text: str) -> None:
        self.faults.append(Fault(f"{self.name}, hourly.{key}", text))


def read_forecast(*, name: str, content: bytes, now: datetime) -> dict[datetime, Reading]:
    """Return the air by UTC hour; raise InputFaults with all that is wrong with the answer.

    name: what faults call the answer. Refused are also values that are missing, and a forecast
    that does not reach a day past ``now``.
    """
    series = _series(name, content)
    hours = _hours(series)
    temperature_c = _values(series, TEMPERATURE, TEMPERATURES)
    humidity = _values(series, HUMIDITY, HUMIDITIES)
    _check_whole(series, hours, now)
    _check_units(series, temperature_c, humidity)
    if series.faults:
        raise InputFaults(series.faults)
    return {
        hour: Reading(round(celsius, 2), round(percent / 100, 4))
        for hour, celsius, percent in zip(hours, temperature_c, humidity, strict=True)
    }


def reason_given(content: bytes) -> str:
    """Return why the server has no forecast, in its words, which may be many and may hold the key;
    "" where it does not say."""
    try:
        answer = json.loads(content)
    except (ValueError, RecursionError):
        return ""
    reason = answer.get("reason") if isinstance(answer, dict) else None
    return _printable(reason) if isinstance(reason, str) else ""


def _series(name: str, content: bytes) -> _Series:
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
    return _Series(name, hourly, units)


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


def _list(series: _Series, key: str) -> list[Any]:
    found = series.hourly.get(key)
    if isinstance(found, list) and found:
        return found
    series.fault(key, "there are no values")
    return []


def _hours(series: _Series) -> list[datetime]:
    hours = []
    for number, text in enumerate(_list(series, "time")):
        hour = _hour(text)
        if hour is None:
            series.fault(
                f"time[{number}]", f"{_SHORT.repr(text)} is not an hour such as 2026-03-02T15:00"
            )
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


def _values(series: _Series, key: str, readers: Mapping[str, Reader]) -> list[float]:
    """Return a list's numbers, read by their unit."""
    values, missing = [], []
    given, unit = _list(series, key), str(series.units.get(key))
    if given and unit not in readers:
        series.fault(key, f"the unit is {_SHORT.repr(unit)}, not {' or '.join(readers)}")
        return []
    for number, value in enumerate(given):
        found = None if value is None else readers[unit](value)
        if value is None:
            missing.append(number)
        elif found is None:
            series.fault(
                f"{key}[{number}]", f"{_SHORT.repr(value)} {unit} cannot be the air of a place"
            )
        else:
            values.append(found)
    if missing:
        count = "1 hour has" if len(missing) == 1 else f"{len(missing)} hours have"
        series.fault(f"{key}[{missing[0]}]", f"null: {count} no value")
    return values


def _number(value: Any) -> float:
    """Return a JSON number; NaN for anything else, and for one past all bounds."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return math.nan
    try:
        return float(value)
    except OverflowError:
        return math.nan


def _celsius(value: Any) -> float | None:
    number = _number(value)
    return number if COLDEST_C <= number <= HOTTEST_C else None


def _fahrenheit(value: Any) -> float | None:
    return _celsius(celsius_from_fahrenheit(_number(value)))


def _percent(value: Any) -> float | None:
    number = _number(value)
    return number if 0 <= number <= 100 else None


TEMPERATURES: Mapping[str, Reader] = {"°C": _celsius, "°F": _fahrenheit}
HUMIDITIES: Mapping[str, Reader] = {"%": _percent}


def _check_whole(series: _Series, hours: list[datetime], now: datetime) -> None:
    for key in (TEMPERATURE, HUMIDITY):
        values = series.hourly.get(key)
        if hours and isinstance(values, list) and values and len(values) != len(hours):
            series.fault(key, f"{len(values)} values for {len(hours)} hours")
    if not hours:
        return
    if hours[0] - now > DAY or hours[-1] - now < DAY:
        said = f"{hours[0]:%Y-%m-%d %H:%MZ} to {hours[-1]:%Y-%m-%d %H:%MZ} is not the day ahead"
        series.fault("time", said)


def _check_units(series: _Series, temperature_c: list[float], humidity: list[float]) -> None:
    if humidity and are_fractions(humidity):
        series.fault(HUMIDITY, FRACTIONS)
    if said := fahrenheit_mean(temperature_c, humidity):
        series.fault(TEMPERATURE, said)
