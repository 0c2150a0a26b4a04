"""Forecasts in the form that the Open-Meteo API documents, from memory, with steady air."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

import httpx

HOURS = 7 * 24


def forecast_answer(
    *,
    first: str = "2026-03-02T00:00",
    hours: int = HOURS,
    temperature_c: float = 8.0,
    percent: float = 80,
    **changed: Any,
) -> dict[str, Any]:
    times = [datetime.fromisoformat(first) + timedelta(hours=step) for step in range(hours)]
    return {
        "latitude": 53.34,
        "longitude": -6.26,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "hourly_units": {
            "time": "iso8601",
            "temperature_2m": "°C",
            "relative_humidity_2m": "%",
        },
        "hourly": {
            "time": [f"{time:%Y-%m-%dT%H:%M}" for time in times],
            "temperature_2m": [temperature_c] * hours,
            "relative_humidity_2m": [percent] * hours,
        },
        **changed,
    }


def ensemble_answer(temperatures_c: Sequence[float], **changed: Any) -> dict[str, Any]:
    """A forecast with a member of steady air for each temperature, member01 and so on, each with
    its units, as the API documents them."""
    whole = forecast_answer(**changed)
    hours = len(whole["hourly"]["time"])
    for number, temperature_c in enumerate(temperatures_c, 1):
        for key, unit, value in (
            ("temperature_2m", "°C", temperature_c),
            ("relative_humidity_2m", "%", 50.0),
        ):
            whole["hourly"][f"{key}_member{number:02}"] = [value] * hours
            whole["hourly_units"][f"{key}_member{number:02}"] = unit
    return whole


def answering(response: httpx.Response) -> httpx.MockTransport:
    """Return a transport that gives the same answer to everything."""
    return httpx.MockTransport(
        lambda _: httpx.Response(response.status_code, content=response.content)
    )
