"""The lists of an hourly answer, each read by its unit, with all that is wrong with them."""

import math
import reprlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from finishing.rules.units import celsius_from_fahrenheit
from finishing.services.air_limits import (
    COLDEST_C,
    FRACTIONS,
    HOTTEST_C,
    are_fractions,
    fahrenheit_mean,
)
from finishing.services.errors import Fault

_SHORT = reprlib.Repr(maxstring=60, maxlong=40, maxother=60, maxlevel=2, maxlist=4, maxdict=4)


def short(value: Any) -> str:
    """Return a value as a message may have it: cut, so that no answer fills the page."""
    return _SHORT.repr(value)


type Reader = Callable[[Any], float | None]
"""Takes a value of one unit; gives None for what cannot be."""


@dataclass
class Series:
    """The lists of an answer and their units, with the faults found so far."""

    name: str
    hourly: dict[str, Any]
    units: dict[str, Any]
    faults: list[Fault] = field(default_factory=list)

    def fault(self, key: str, text: str) -> None:
        self.faults.append(Fault(f"{self.name}, hourly.{key}", text))

    def given(self, key: str) -> list[Any]:
        """Return a list as it was given; none or an empty one is a fault."""
        found = self.hourly.get(key)
        if isinstance(found, list) and found:
            return found
        self.fault(key, "there are no values")
        return []

    def air(
        self, temperature: str, humidity: str, *, hours: int
    ) -> tuple[list[float], list[float]]:
        """Return two lists, in C and percent, with a value for each hour; less than that, where
        faults were found. hours: 0 where nobody knows how many there are."""
        temperatures = self._values(temperature, TEMPERATURES)
        percents = self._values(humidity, HUMIDITIES)
        for key in (temperature, humidity):
            found = self.hourly.get(key)
            if hours and isinstance(found, list) and found and len(found) != hours:
                self.fault(key, f"{len(found)} values for {hours} hours")
        if percents and are_fractions(percents):
            self.fault(humidity, FRACTIONS)
        if said := fahrenheit_mean(temperatures, percents):
            self.fault(temperature, said)
        return temperatures, percents

    def _values(self, key: str, readers: Mapping[str, Reader]) -> list[float]:
        """Return a list's numbers, read by their unit."""
        values, missing = [], []
        given, unit = self.given(key), str(self.units.get(key))
        if given and unit not in readers:
            self.fault(key, f"the unit is {short(unit)}, not {' or '.join(readers)}")
            return []
        for number, value in enumerate(given):
            found = None if value is None else readers[unit](value)
            if value is None:
                missing.append(number)
            elif found is None:
                self.fault(
                    f"{key}[{number}]", f"{short(value)} {unit} cannot be the air of a place"
                )
            else:
                values.append(found)
        if missing:
            count = "1 hour has" if len(missing) == 1 else f"{len(missing)} hours have"
            self.fault(f"{key}[{missing[0]}]", f"null: {count} no value")
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
