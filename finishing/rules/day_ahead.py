"""What a day brings houses that does not depend on the vapour in them: warmth, and all that
follows from it. Worked out for a whole day at once, since that takes a fraction of the time.
"""

from typing import NamedTuple

import numpy as np

from finishing.rules.climate import AIR_PRESSURE_KPA, MOLE_RATIO, humidity_ratio, vapour_kpa
from finishing.rules.climate_faults import BoolArray
from finishing.rules.dryers import removal_law
from finishing.rules.drying import bone_dry_rate, saturation_kpa
from finishing.rules.room_heat import warmth
from finishing.rules.site_layout import Layout
from finishing.rules.units import FloatArray

HOURS_A_DAY = 24
FLAME_KG_PER_KWH = 0.127
"""Water from an unvented propane flame: 1.63 kg a kg of fuel, by stoichiometry."""


class HoursAhead(NamedTuple):
    """Some hours of all houses (shapes: (hours, houses)), or one of them (shapes: houses).

    temperature_c: at the end of an hour. given, given_humidity: as in :class:`AirLayout`.
    air_in_kg, flame_kg: water that air and flames bring. light_kg, pressures, bone_dry_rate: as
    in :class:`RoomHour`. dryer_constant, dryer_linear, dryer_square: as
    :func:`dryers.removal_law` gives them, 0 where dryers cannot run. tank_kg: of all tanks.
    emptied: at the start of the hour.
    """

    temperature_c: FloatArray
    heat_kwh: FloatArray
    given: BoolArray
    given_humidity: FloatArray
    air_in_kg: FloatArray
    flame_kg: FloatArray
    light_kg: FloatArray
    pressures: FloatArray
    saturation_kpa: FloatArray
    bone_dry_rate: FloatArray
    dryer_constant: FloatArray
    dryer_linear: FloatArray
    dryer_square: FloatArray
    tank_kg: FloatArray
    emptied: BoolArray

    def hour(self, number: int) -> "HoursAhead":
        """Return one of the hours."""
        return HoursAhead._make(values[number] for values in self)


def hours_ahead(layout: Layout, hours: slice, start_c: FloatArray) -> HoursAhead:
    """Return hours that begin with houses at start_c."""
    houses, dryers = layout.houses, layout.dryers
    air = layout.air.some(hours)
    heaters = layout.heaters and layout.heaters.some(hours)
    temperature_c, heat_kwh, brought_kwh = warmth(houses, air, heaters, start_c)
    flame_kwh = houses.flame_share * (heat_kwh - brought_kwh)
    if heaters is not None:
        flame_kwh = flame_kwh + heaters.flame_share * brought_kwh
    saturation = saturation_kpa(temperature_c)
    outdoor_ratio = humidity_ratio(vapour_kpa(air.outdoor_c, air.outdoor_humidity))
    # None in open houses; where air is logged, the log knows of them.
    runs = ~air.given & (temperature_c >= dryers.least_c)
    return HoursAhead(
        temperature_c,
        heat_kwh,
        air.given,
        air.given_humidity,
        air.changed_kg * outdoor_ratio,
        FLAME_KG_PER_KWH * flame_kwh,
        MOLE_RATIO * (houses.dry_air_kg + air.changed_kg),
        AIR_PRESSURE_KPA / saturation,
        saturation,
        bone_dry_rate(saturation),
        *removal_law(np.where(runs, dryers.rating_kg[hours], 0.0), temperature_c),
        dryers.capacity_kg[hours],
        dryers.emptied[hours],
    )
