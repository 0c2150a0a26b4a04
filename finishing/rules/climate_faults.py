"""Gathers what is wrong with the inputs of a climate: every fault at once, each with its place."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishing.rules.units import FloatArray

type BoolArray = NDArray[np.bool_]

_LEAST_PERCENT = 1.5
"""A humidity above this was more likely meant in percent than measured wrong."""


class ClimateError(ValueError):
    """Inputs that cannot be; ``faults`` names each with its house and hour, or its coat."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("; ".join(faults))


class Checks:
    """Brings fields to one shape and notes what is wrong with them."""

    def __init__(self, houses: int, hours: int) -> None:
        self.faults: list[str] = []
        self._houses, self._hours = houses, hours
        self._misshapen: set[str] = set()

    def a_house(self, name: str, value: ArrayLike) -> FloatArray:
        """Return a field of shape (houses,)."""
        return self.shaped(name, value, (self._houses,))

    def an_hour(self, name: str, value: ArrayLike) -> FloatArray:
        """Return a field of shape (houses, hours)."""
        return self.shaped(name, value, (self._houses, self._hours))

    def shaped(self, name: str, value: ArrayLike, shape: tuple[int, ...]) -> FloatArray:
        """Return a field of that shape, or note that it cannot be."""
        array = np.asarray(value, dtype=np.float64)
        try:
            return np.broadcast_to(array, shape)
        except ValueError:
            self.faults.append(f"{name}: shape {array.shape} does not go into {shape}")
            self._misshapen.add(name)
            return np.zeros(shape)

    def between(
        self,
        name: str,
        values: FloatArray,
        least: float,
        most: float,
        *,
        where: BoolArray | None = None,
        words: tuple[str, ...] = ("house", "hour"),
    ) -> None:
        """Expect numbers from least to most; missing ones are none. Only ``where`` it matters."""
        holds = (values >= least) & (values <= most)
        holds = holds if where is None else holds | ~where
        self._expect(name, values, holds, f"from {least:g} to {most:g}", words)

    def fraction(
        self,
        name: str,
        values: FloatArray,
        *,
        where: BoolArray | None = None,
        words: tuple[str, ...] = ("house", "hour"),
    ) -> None:
        """Expect relative humidity as a fraction, and say so where it looks like percent."""
        holds = (values >= 0.0) & (values <= 1.0)
        holds = holds if where is None else holds | ~where
        wrong = values[~holds]
        percent = wrong.size > 0 and bool(np.nanmax(wrong, initial=0.0) > _LEAST_PERCENT)
        hint = ", a fraction: is it in percent?" if percent else ""
        self._expect(name, values, holds, f"from 0 to 1{hint}", words)

    def above_zero(
        self, name: str, values: FloatArray, words: tuple[str, ...] = ("house",)
    ) -> None:
        """Expect finite numbers above 0."""
        self._expect(name, values, np.isfinite(values) & (values > 0.0), "above 0", words)

    def whole(self, name: str, values: FloatArray, below: float, words: tuple[str, ...]) -> None:
        """Expect whole numbers from 0 to under ``below``."""
        holds = (values >= 0.0) & (values < below) & (values == np.floor(values))
        self._expect(name, values, holds, f"a whole number from 0 to under {below:g}", words)

    def raise_if_any(self) -> None:
        """Raise :class:`ClimateError` with all faults, if there are any."""
        if self.faults:
            raise ClimateError(self.faults)

    def _expect(
        self, name: str, values: FloatArray, holds: BoolArray, what: str, words: tuple[str, ...]
    ) -> None:
        """Note the first place where ``holds`` is false, and how many more there are."""
        if holds.all() or name in self._misshapen:
            return
        places = np.argwhere(~holds)
        place = ", ".join(f"{word} {at}" for word, at in zip(words, places[0], strict=False))
        more = f" (and {len(places) - 1} more)" if len(places) > 1 else ""
        self.faults.append(f"{name}, {place}: {values[tuple(places[0])]:g} is not {what}{more}")
