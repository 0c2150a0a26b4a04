"""Water in the coats of many houses: what is laid on, what goes off as the air dries it.

A wall is a store: it needs an amount of drying and holds so much water, and gives its water off
evenly over that amount. A coat laid over one that is still wet adds to both (see
carried_water.py). Shapes: (walls, houses).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from finishing.rules.climate_faults import BoolArray
from finishing.rules.units import FloatArray

type IntArray = NDArray[np.int64]


class WallHour(NamedTuple):
    """Walls as an hour finds them: drying to go, and the water that a unit of it gives off."""

    amount: FloatArray
    kg_per_amount: FloatArray

    def wet(self) -> BoolArray:
        """Return which houses have walls that are not dry (shape houses)."""
        return np.asarray(self.amount.max(axis=0) > 0.0)

    def given_off_kg(self, drying: FloatArray) -> FloatArray:
        """Return kg that each house's walls give off as they dry by ``drying``.

        Shape (..., houses), and so is what is returned.
        """
        dried = np.minimum(self.amount, drying[..., None, :])
        return np.asarray((dried * self.kg_per_amount).sum(axis=-2))


class WetWalls:
    """The walls of all houses as they stand."""

    def __init__(self, walls: int, houses: int) -> None:
        self._amount = np.zeros((walls, houses))
        self._kg_per_amount = np.zeros((walls, houses))

    @property
    def water_kg(self) -> FloatArray:
        """Water still in the coats, by wall and house."""
        return self._amount * self._kg_per_amount

    def lay(
        self, wall: IntArray, house: IntArray, water_kg: FloatArray, amount: FloatArray
    ) -> FloatArray:
        """Put coats on; return for each the amount until it and all under it is dry."""
        in_all_kg = self.water_kg
        np.add.at(in_all_kg, (wall, house), water_kg)
        np.add.at(self._amount, (wall, house), amount)
        to_go = self._amount[wall, house]
        self._kg_per_amount[wall, house] = in_all_kg[wall, house] / to_go
        return np.asarray(to_go)

    def hour(self) -> WallHour:
        """Return the walls as they are, for working out the hour to come."""
        return WallHour(self._amount, self._kg_per_amount)

    def dry(self, drying: FloatArray) -> FloatArray:
        """Let every wall dry by so much (shape houses); return kg given off, by house."""
        dried = np.minimum(self._amount, drying)
        self._amount = self._amount - dried
        return np.asarray((dried * self._kg_per_amount).sum(axis=0))
