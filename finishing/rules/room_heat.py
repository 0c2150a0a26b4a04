"""Temperature of houses over one hour: one store of heat behind one shell.

``C dT/dt = -H (T - outdoor) + heat``, solved exactly over the hour, in which everything but T
stands still. H is the shell's and the air change's. Sun, people and lamps are left out.
"""

from typing import NamedTuple

import numpy as np

from finishing.rules.units import FloatArray

DRY_AIR_KG_PER_M3 = 1.2
"""Standard air. The room's dry air is taken to weigh that much at any temperature."""
LATENT_WH_PER_KG = 680.0
"""Heat that a kg of water takes up as it evaporates at 20 C (2.45 MJ)."""
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
    other_w: FloatArray,
    target_c: FloatArray,
    heat_kw: FloatArray,
) -> Warmth:
    """Return the warmth an hour on; every shape is (houses,).

    changed_kg: dry air exchanged with outdoors in the hour. other_w: heat besides the heaters',
    below 0 where water evaporates. target_c: set-point, -infinite where unheated. heat_kw: the
    most the heaters give; they never cool.
    """
    loss_w_per_k = loss_w_per_k + changed_kg * _AIR_WH_PER_KG_K
    gone = -np.expm1(-loss_w_per_k / capacity_wh_per_k)
    kelvin_per_w = gone / loss_w_per_k
    free_c = temperature_c + gone * (outdoor_c - temperature_c) + kelvin_per_w * other_w
    heat_w = np.clip((target_c - free_c) / kelvin_per_w, 0.0, 1000.0 * heat_kw)
    return Warmth(free_c + kelvin_per_w * heat_w, heat_w / 1000.0)
