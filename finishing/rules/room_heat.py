"""Temperature of houses over one hour: one store of heat behind one shell.

``C dT/dt = -H (T - outdoor) + heat``, solved exactly over the hour, in which everything but T
stands still. H is the shell's and the air change's. Sun, people and lamps are left out, and so is
what water does to warmth: evaporation takes 0.68 kWh a kg and dehumidifiers give that back and
their electricity. Without dryers an unheated house is cooler than told here, by about 2 K while
it gives off a kilogram an hour at a loss of 340 W/K.
"""

from typing import NamedTuple

import numpy as np

from finishing.rules.units import FloatArray

DRY_AIR_KG_PER_M3 = 1.2
"""Standard air. The room's dry air is taken to weigh that much at any temperature."""
_AIR_WH_PER_KG_K = 1006.0 / 3600.0


class Warmth(NamedTuple):
    """Temperature at the end of an hour, and heat from heaters in it (shapes: houses)."""

    temperature_c: FloatArray
    heat_kwh: FloatArray


def after_an_hour(
    temperature_c: FloatArray,
    outdoor_c: FloatArray,
    *,
    loss_w_per_k: FloatArray,
    changed_kg: FloatArray,
    capacity_wh_per_k: FloatArray,
    target_c: FloatArray,
    heat_kw: FloatArray,
) -> Warmth:
    """Return the warmth an hour on; every shape is (houses,).

    changed_kg: dry air exchanged with outdoors in the hour. target_c: set-point,
    -infinite where unheated. heat_kw: the most the heaters give; they never cool.
    """
    loss_w_per_k = loss_w_per_k + changed_kg * _AIR_WH_PER_KG_K
    gone = -np.expm1(-loss_w_per_k / capacity_wh_per_k)
    kelvin_per_w = gone / loss_w_per_k
    free_c = temperature_c + gone * (outdoor_c - temperature_c)
    heat_w = np.clip((target_c - free_c) / kelvin_per_w, 0.0, 1000.0 * heat_kw)
    return Warmth(free_c + kelvin_per_w * heat_w, heat_w / 1000.0)
