"""Temperature of houses hour by hour: one store of heat behind one shell.

``C dT/dt = -H (T - outdoor) + heat``, solved exactly over the hour, in which everything but T
stands still. H is the shell's and the air change's. Sun, people and lamps are left out, and so is
what water does to warmth: evaporation takes 0.68 kWh a kg and dehumidifiers give that back and
their electricity. Without dryers an unheated house is cooler than told here, by about 2 K while
it gives off a kilogram an hour at a loss of 340 W/K.
"""

from typing import NamedTuple

import numpy as np

from finishing.rules.site_layout import AirLayout, HeaterLayout, HouseLayout
from finishing.rules.units import FloatArray

_AIR_WH_PER_KG_K = 1006.0 / 3600.0


class Warmth(NamedTuple):
    """Temperature at the end of each hour, heat from all heaters in it, and the part of that which
    portable ones gave (shapes: (hours, houses))."""

    temperature_c: FloatArray
    heat_kwh: FloatArray
    brought_kwh: FloatArray


def warmth(
    houses: HouseLayout, air: AirLayout, heaters: HeaterLayout | None, start_c: FloatArray
) -> Warmth:
    """Return the warmth of some hours of houses that begin at start_c (shape: houses).

    heaters: portable ones in the same hours, which heat up to their own thermostat, whether or
    not a house is heated by itself. None of them ever cools.
    """
    loss_w_per_k = houses.loss_w_per_k + air.changed_kg * _AIR_WH_PER_KG_K
    gone = -np.expm1(-loss_w_per_k / houses.capacity_wh_per_k)
    kelvin_per_w = gone / loss_w_per_k
    own_w = 1000.0 * houses.heat_kw
    temperature_c, heat_w = np.empty_like(gone), np.empty_like(gone)
    brought_w = np.zeros_like(gone)
    now_c = start_c
    for hour, given in enumerate(air.given):
        free_c = now_c + gone[hour] * (air.outdoor_c[hour] - now_c)
        asked_w = np.maximum((air.target_c[hour] - free_c) / kelvin_per_w[hour], 0.0)
        if heaters is None:
            heat_w[hour] = np.minimum(asked_w, own_w)
        else:
            hold_w = np.maximum((heaters.hold_c[hour] - free_c) / kelvin_per_w[hour], 0.0)
            most_w = 1000.0 * heaters.heat_kw[hour]
            heat_w[hour], brought_w[hour] = _of_both(asked_w, own_w, hold_w, most_w)
        heated_c = free_c + kelvin_per_w[hour] * heat_w[hour]
        now_c = temperature_c[hour] = np.where(given, air.given_c[hour], heated_c)
    heat_kwh, brought_kwh = (np.where(air.given, 0.0, w) / 1000.0 for w in (heat_w, brought_w))
    return Warmth(temperature_c, heat_kwh, brought_kwh)


def _of_both(
    asked_w: FloatArray, own_w: FloatArray, hold_w: FloatArray, most_w: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the heat of a house's own and of portable heaters, and the part of the latter.

    asked_w, hold_w: what brings the house to the thermostat of each; own_w, most_w: the most they
    give. Each gives all it can until then, so the one that asks for less comes on only where the
    other's most is not enough.
    """
    less_w = np.minimum(asked_w, hold_w)
    alone_w = np.maximum(np.minimum(asked_w, own_w), np.minimum(hold_w, most_w))
    heat_w = np.maximum(alone_w, np.minimum(less_w, own_w + most_w))
    own_first_w = heat_w - np.minimum(heat_w, own_w)
    return heat_w, np.where(hold_w > asked_w, np.minimum(heat_w, most_w), own_first_w)
