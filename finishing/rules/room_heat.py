"""Temperature of houses hour by hour: one store of heat behind one shell.

``C dT/dt = -H (T - outdoor) + heat``, solved exactly over the hour, in which everything but T
stands still. H is the shell's and the air change's. Sun, people and lamps are left out, and so is
what water does to warmth: evaporation takes 0.68 kWh a kg and dehumidifiers give that back and
their electricity. Without dryers an unheated house is cooler than told here, by about 2 K while
it gives off a kilogram an hour at a loss of 340 W/K.
"""

import numpy as np

from finishing.rules.site_layout import AirLayout, HouseLayout
from finishing.rules.units import FloatArray

_AIR_WH_PER_KG_K = 1006.0 / 3600.0


def warmth(
    houses: HouseLayout, air: AirLayout, start_c: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the temperature at the end of each hour, and heat (kWh) from heaters in it.

    Shapes: (hours, houses); start_c, at the start of the first: houses. Heaters never cool.
    """
    loss_w_per_k = houses.loss_w_per_k + air.changed_kg * _AIR_WH_PER_KG_K
    gone = -np.expm1(-loss_w_per_k / houses.capacity_wh_per_k)
    kelvin_per_w = gone / loss_w_per_k
    most_w = 1000.0 * houses.heat_kw
    temperature_c, heat_w = np.empty_like(gone), np.empty_like(gone)
    now_c = start_c
    for hour, given in enumerate(air.given):
        free_c = now_c + gone[hour] * (air.outdoor_c[hour] - now_c)
        wanted_w = (air.target_c[hour] - free_c) / kelvin_per_w[hour]
        heat_w[hour] = np.minimum(np.maximum(wanted_w, 0.0), most_w)
        heated_c = free_c + kelvin_per_w[hour] * heat_w[hour]
        now_c = temperature_c[hour] = np.where(given, air.given_c[hour], heated_c)
    return temperature_c, np.where(air.given, 0.0, heat_w) / 1000.0
