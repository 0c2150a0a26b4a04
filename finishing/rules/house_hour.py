"""One hour of many houses: warmth, what comes in, where vapour and coats settle, what that moves.

Shapes: (houses,) throughout.
"""

from typing import NamedTuple

import numpy as np

from finishing.rules.climate import humidity_ratio, relative_humidity, vapour_kpa
from finishing.rules.day_ahead import HOURS_A_DAY, HoursAhead, hours_ahead
from finishing.rules.dryers import DryerHour
from finishing.rules.drying import HUMIDITY_CAP, saturation_kpa
from finishing.rules.room_moisture import (
    MoistureHour,
    RoomHour,
    dryness_of,
    ends_of,
    humidity_of,
    settled,
)
from finishing.rules.site_layout import Layout
from finishing.rules.units import FloatArray
from finishing.rules.wet_walls import WetWalls


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
        self._ends = ends_of(layout.dryers.hold_humidity)
        self._tank_kg = np.zeros_like(self.vapour_kg)
        self._laying_order = np.argsort(layout.coats.hour, kind="stable")
        in_order = layout.coats.hour[self._laying_order]
        self._laid_before = np.searchsorted(in_order, np.arange(len(air.given) + 1))

    def step(self, hour: int) -> HourDone:
        """Move all houses on by an hour."""
        self._lay(hour)
        if hour % HOURS_A_DAY == 0:
            day = slice(hour, hour + HOURS_A_DAY)
            self._day = hours_ahead(self.layout, day, self.temperature_c)
        ahead = self._day.hour(hour % HOURS_A_DAY)
        self.temperature_c = ahead.temperature_c
        supply_kg = self.vapour_kg + self.condensed_kg + ahead.air_in_kg + ahead.flame_kg
        room = RoomHour(ahead.light_kg, ahead.pressures, supply_kg, ahead.bone_dry_rate)
        ended = self._settle(ahead, room)
        there_kg = supply_kg + ended.evaporated_kg - ended.removed_kg
        self.vapour_kg = self._vapour_kg(ended.humidity * ahead.saturation_kpa)
        saturated = (self._dryness == 0.0) & ~ahead.given
        self.condensed_kg = np.where(saturated, np.maximum(there_kg - room.most_kg(), 0.0), 0.0)
        # Also what the solution left over, and all that an open or logged house exchanged.
        net_out_kg = there_kg - self.vapour_kg - self.condensed_kg
        self.air_in_kg += ahead.air_in_kg - np.minimum(net_out_kg, 0.0)
        self.air_out_kg += np.maximum(net_out_kg, 0.0)
        self.flame_kg += ahead.flame_kg
        self._tank_kg = self._tank_kg + ended.removed_kg
        return HourDone(
            ahead.temperature_c,
            *ended[:2],
            ahead.heat_kwh,
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

    def _settle(self, ahead: HoursAhead, room: RoomHour) -> _Settled:
        self._tank_kg = np.where(ahead.emptied, 0.0, self._tank_kg)
        moisture = MoistureHour(
            room,
            self.walls.hour(),
            DryerHour(
                ahead.dryer_constant,
                ahead.dryer_linear,
                ahead.dryer_square,
                self.layout.dryers.hold_humidity,
                np.maximum(ahead.tank_kg - self._tank_kg, 0.0),
            ),
            self._ends,
        )
        dryness = settled(moisture, skip=ahead.given)
        humidity = humidity_of(dryness)
        if ahead.given.any():
            measured = dryness_of(np.minimum(ahead.given_humidity, HUMIDITY_CAP))
            dryness = np.where(ahead.given, measured, dryness)
            humidity = np.where(ahead.given, ahead.given_humidity, humidity)
        self._dryness = dryness
        drying = ahead.bone_dry_rate * dryness
        removed_kg = moisture.dryers.removed_kg(humidity)
        return _Settled(humidity, drying, self.walls.dry(drying), removed_kg)

    def _vapour_kg(self, pressure_kpa: FloatArray) -> FloatArray:
        return self.layout.houses.dry_air_kg * humidity_ratio(pressure_kpa)


def _start_humidity(layout: Layout, start_c: FloatArray) -> FloatArray:
    air, known = layout.air, layout.houses.start_humidity
    outdoor_kpa = vapour_kpa(air.outdoor_c[0], air.outdoor_humidity[0])
    as_outdoors = relative_humidity(start_c, outdoor_kpa)
    assumed = np.where(air.given[0], air.given_humidity[0], as_outdoors)
    return np.where(np.isnan(known), assumed, known)
