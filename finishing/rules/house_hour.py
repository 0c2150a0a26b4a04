"""One hour of many houses: warmth, what comes in, where vapour and coats settle, what that moves.

Shapes: (houses,) throughout.
"""

from typing import NamedTuple

import numpy as np

from finishing.rules.climate import humidity_ratio, relative_humidity, vapour_kpa
from finishing.rules.dryers import DryerHour, dryer_hour
from finishing.rules.drying import HUMIDITY_CAP, bone_dry_rate, saturation_kpa
from finishing.rules.room_heat import Warmth, after_an_hour
from finishing.rules.room_moisture import (
    MoistureHour,
    RoomHour,
    Root,
    dryness_of,
    humidity_of,
    settled,
)
from finishing.rules.site_layout import Layout
from finishing.rules.units import FloatArray
from finishing.rules.wet_walls import WetWalls

FLAME_KG_PER_KWH = 0.127
"""Water from an unvented propane flame: 1.63 kg a kg of fuel, by stoichiometry."""


class HourDone(NamedTuple):
    """What an hour brought each house.

    temperature_c, humidity (a fraction), condensed_kg (lying on surfaces), tank_kg: at its end.
    drying: 1 for all of the table's coat. evaporated_kg: from coats.
    """

    temperature_c: FloatArray
    humidity: FloatArray
    drying: FloatArray
    heat_kwh: FloatArray
    evaporated_kg: FloatArray
    removed_kg: FloatArray
    condensed_kg: FloatArray
    tank_kg: FloatArray


class _Settled(NamedTuple):
    humidity: FloatArray
    drying: FloatArray
    evaporated_kg: FloatArray
    removed_kg: FloatArray


class HouseAir:
    """All houses as they stand between two hours, and what air and flames have moved so far.

    water_kg: vapour and what has condensed. amount_to_go: for each coat, when it was laid.
    """

    def __init__(self, layout: Layout) -> None:
        houses, air = layout.houses, layout.air
        self.layout = layout
        warmed_c = np.maximum(air.given_c[0], air.target_c[0])
        self.temperature_c = np.where(np.isnan(houses.start_c), warmed_c, houses.start_c)
        humidity = _start_humidity(layout, self.temperature_c)
        self.vapour_kg = self._vapour_kg(humidity * saturation_kpa(self.temperature_c))
        self.condensed_kg = np.zeros_like(self.vapour_kg)
        self.air_in_kg = np.zeros_like(self.vapour_kg)
        self.air_out_kg = np.zeros_like(self.vapour_kg)
        self.flame_kg = np.zeros_like(self.vapour_kg)
        self.walls = WetWalls(int(layout.coats.slot.max(initial=0)) + 1, len(self.vapour_kg))
        self.amount_to_go = np.zeros(len(layout.coats.hour))
        self._root = Root(dryness_of(humidity), np.full_like(humidity, -1.0))
        self._tank_kg = np.zeros_like(self.vapour_kg)
        self._laying_order = np.argsort(layout.coats.hour, kind="stable")
        in_order = layout.coats.hour[self._laying_order]
        self._laid_before = np.searchsorted(in_order, np.arange(len(air.given) + 1))

    def step(self, hour: int) -> HourDone:
        """Move all houses on by an hour."""
        air = self.layout.air
        self._lay(hour)
        warmth = self._warmth(hour)
        self.temperature_c = warmth.temperature_c
        saturation = saturation_kpa(self.temperature_c)
        outdoor_kpa = vapour_kpa(air.outdoor_c[hour], air.outdoor_humidity[hour])
        air_in_kg = air.changed_kg[hour] * humidity_ratio(outdoor_kpa)
        flame_kg = FLAME_KG_PER_KWH * self.layout.houses.flame_share * warmth.heat_kwh
        supply_kg = self.vapour_kg + self.condensed_kg + air_in_kg + flame_kg
        air_kg = self.layout.houses.dry_air_kg + air.changed_kg[hour]
        most_kg = air_kg * humidity_ratio(saturation)
        room = RoomHour(air_kg, most_kg, supply_kg, saturation, bone_dry_rate(saturation))

        ended = self._settle(hour, room)
        there_kg = supply_kg + ended.evaporated_kg - ended.removed_kg
        self.vapour_kg = self._vapour_kg(ended.humidity * saturation)
        saturated = (self._root.dryness == 0.0) & ~air.given[hour]
        self.condensed_kg = np.maximum(np.where(saturated, there_kg - most_kg, 0.0), 0.0)
        # Also what the solution left over, and all that an open or logged house exchanged.
        net_out_kg = there_kg - self.vapour_kg - self.condensed_kg
        self.air_in_kg += air_in_kg - np.minimum(net_out_kg, 0.0)
        self.air_out_kg += np.maximum(net_out_kg, 0.0)
        self.flame_kg += flame_kg
        self._tank_kg = self._tank_kg + ended.removed_kg
        return HourDone(
            *warmth[:1],
            *ended[:2],
            warmth.heat_kwh,
            *ended[2:],
            self.condensed_kg,
            self._tank_kg,
        )

    def _lay(self, hour: int) -> None:
        now = self._laying_order[self._laid_before[hour] : self._laid_before[hour + 1]]
        if now.size:
            coats = self.layout.coats
            self.amount_to_go[now] = self.walls.lay(
                coats.slot[now], coats.house[now], coats.water_kg[now], coats.amount[now]
            )

    def _warmth(self, hour: int) -> Warmth:
        houses, air = self.layout.houses, self.layout.air
        warmth = after_an_hour(
            self.temperature_c,
            air.outdoor_c[hour],
            loss_w_per_k=houses.loss_w_per_k,
            changed_kg=air.changed_kg[hour],
            capacity_wh_per_k=houses.capacity_wh_per_k,
            target_c=air.target_c[hour],
            heat_kw=houses.heat_kw,
        )
        given = air.given[hour]
        return Warmth(
            np.where(given, air.given_c[hour], warmth.temperature_c),
            np.where(given, 0.0, warmth.heat_kwh),
        )

    def _dryers(self, hour: int) -> DryerHour:
        """Return the dryers. None in open houses; where air is logged, the log knows of them."""
        dryers = self.layout.dryers
        self._tank_kg = np.where(dryers.emptied[hour], 0.0, self._tank_kg)
        runs = ~self.layout.air.given[hour] & (self.temperature_c >= dryers.least_c)
        left_kg = np.maximum(dryers.capacity_kg[hour] - self._tank_kg, 0.0)
        rating_kg = np.where(runs, dryers.rating_kg[hour], 0.0)
        return dryer_hour(rating_kg, self.temperature_c, dryers.hold_humidity, left_kg)

    def _settle(self, hour: int, room: RoomHour) -> _Settled:
        air, dryers = self.layout.air, self._dryers(hour)
        given, humidity = air.given[hour], air.given_humidity[hour]
        moisture = MoistureHour(room, self.walls.hour(), dryers)
        dryness, slope = settled(moisture, self._root, skip=given)
        if given.any():
            measured = dryness_of(np.minimum(humidity, HUMIDITY_CAP))
            dryness = np.where(given, measured, dryness)
        self._root = Root(dryness, slope)
        humidity = np.where(given, humidity, humidity_of(dryness))
        drying = room.bone_dry_rate * dryness
        return _Settled(humidity, drying, self.walls.dry(drying), dryers.removed_kg(humidity))

    def _vapour_kg(self, pressure_kpa: FloatArray) -> FloatArray:
        return self.layout.houses.dry_air_kg * humidity_ratio(pressure_kpa)


def _start_humidity(layout: Layout, start_c: FloatArray) -> FloatArray:
    air, known = layout.air, layout.houses.start_humidity
    outdoor_kpa = vapour_kpa(air.outdoor_c[0], air.outdoor_humidity[0])
    as_outdoors = relative_humidity(start_c, outdoor_kpa)
    assumed = np.where(air.given[0], air.given_humidity[0], as_outdoors)
    return np.where(np.isnan(known), assumed, known)
