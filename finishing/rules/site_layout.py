"""The inputs of a climate, checked and laid out hour by hour for the recipe.

Hourly arrays are of shape (hours, houses) here, so that an hour lies together in memory.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from finishing.rules.climate import DRY_AIR_KG_PER_M3
from finishing.rules.climate_faults import BoolArray, Checks
from finishing.rules.dryers import relative_removal
from finishing.rules.house_inputs import (
    CAPACITY_WH_PER_K_M3,
    LOSS_W_PER_K_M3,
    Coats,
    Dryers,
    Heaters,
    Houses,
    Running,
    Site,
    State,
    Weather,
)
from finishing.rules.units import FloatArray
from finishing.rules.wet_walls import IntArray

_TEMPERATURES_C = (-60.0, 80.0)
_LITRES_A_DAY_TO_KG_AN_HOUR = 1.0 / 24.0
_BIG = 1e9


class HouseLayout(NamedTuple):
    """Shapes: houses."""

    dry_air_kg: FloatArray
    loss_w_per_k: FloatArray
    capacity_wh_per_k: FloatArray
    heat_kw: FloatArray
    flame_share: FloatArray
    start_c: FloatArray
    start_humidity: FloatArray


class AirLayout(NamedTuple):
    """Shapes: (hours, houses). given: whether the room's air is outdoor or logged air as it is."""

    outdoor_c: FloatArray
    outdoor_humidity: FloatArray
    given: BoolArray
    given_c: FloatArray
    given_humidity: FloatArray
    changed_kg: FloatArray
    target_c: FloatArray

    def some(self, hours: slice) -> "AirLayout":
        """Return some of the hours."""
        return AirLayout._make(values[hours] for values in self)


class DryerLayout(NamedTuple):
    """rating_kg, capacity_kg, emptied: (hours, houses); hold_humidity, least_c: houses.

    rating_kg: what all would take out in an hour at 26.7 C and 60 %. capacity_kg: of all tanks.
    """

    rating_kg: FloatArray
    capacity_kg: FloatArray
    emptied: BoolArray
    hold_humidity: FloatArray
    least_c: FloatArray


class HeaterLayout(NamedTuple):
    """Shapes: (hours, houses). hold_c: -infinite where no heater is."""

    heat_kw: FloatArray
    hold_c: FloatArray
    flame_share: FloatArray

    def some(self, hours: slice) -> "HeaterLayout":
        """Return some of the hours."""
        return HeaterLayout._make(values[hours] for values in self)


class CoatLayout(NamedTuple):
    """Coats in the order given; slot: the wall's number within its house."""

    house: IntArray
    slot: IntArray
    hour: IntArray
    water_kg: FloatArray
    amount: FloatArray


class Layout(NamedTuple):
    """All of a site. heaters: None where no portable one is anywhere."""

    houses: HouseLayout
    air: AirLayout
    dryers: DryerLayout
    coats: CoatLayout
    heaters: HeaterLayout | None = None


def laid_out(site: Site) -> Layout:
    """Return a site's inputs, checked; raise :class:`ClimateError` with every fault."""
    houses = np.atleast_1d(np.asarray(site.houses.volume_m3)).shape[0]
    hours = np.atleast_1d(np.asarray(site.weather.temperature_c)).shape[-1]
    checks = Checks(houses, hours)
    house = _houses(site.houses, site.start_c, site.start_humidity, checks)
    air = _air(site.weather, site.running, house.dry_air_kg, checks)
    layout = Layout(
        house,
        air,
        _dryers(site.dryers, checks),
        _coats(site.coats, air, checks),
        _heaters(site.heaters, checks),
    )
    checks.raise_if_any()
    return layout


def _houses(
    houses: Houses, start_c: ArrayLike, start_humidity: ArrayLike, checks: Checks
) -> HouseLayout:
    volume_m3 = checks.a_house("volume_m3", houses.volume_m3)
    loss, capacity = houses.loss_w_per_k, houses.capacity_wh_per_k
    layout = HouseLayout(
        dry_air_kg=DRY_AIR_KG_PER_M3 * volume_m3,
        loss_w_per_k=checks.a_house(
            "loss_w_per_k", LOSS_W_PER_K_M3 * volume_m3 if loss is None else loss
        ),
        capacity_wh_per_k=checks.a_house(
            "capacity_wh_per_k", CAPACITY_WH_PER_K_M3 * volume_m3 if capacity is None else capacity
        ),
        heat_kw=checks.a_house("heat_kw", houses.heat_kw),
        flame_share=checks.a_house("flame_share", houses.flame_share),
        start_c=checks.a_house("start_c", start_c),
        start_humidity=checks.a_house("start_humidity", start_humidity),
    )
    checks.above_zero("volume_m3", volume_m3)
    if loss is not None:
        checks.above_zero("loss_w_per_k", layout.loss_w_per_k)
    if capacity is not None:
        checks.above_zero("capacity_wh_per_k", layout.capacity_wh_per_k)
    checks.between("heat_kw", layout.heat_kw, 0.0, np.inf)
    checks.between("flame_share", layout.flame_share, 0.0, 1.0)
    checks.between("start_c", layout.start_c, *_TEMPERATURES_C, where=~np.isnan(layout.start_c))
    known = ~np.isnan(layout.start_humidity)
    checks.fraction("start_humidity", layout.start_humidity, where=known)
    return layout


def _air(weather: Weather, running: Running, dry_air_kg: FloatArray, checks: Checks) -> AirLayout:
    outdoor_c = checks.an_hour("outdoor temperature_c", weather.temperature_c)
    outdoor_humidity = checks.an_hour("outdoor humidity", weather.humidity)
    state = checks.an_hour("state", running.state)
    changes = checks.an_hour("air_changes_per_h", running.air_changes_per_h)
    setpoint_c = checks.an_hour("setpoint_c", running.setpoint_c)
    logged_c = checks.an_hour("logged_c", running.logged_c)
    logged_humidity = checks.an_hour("logged_humidity", running.logged_humidity)
    heated, logged, is_open = (state == s for s in (State.HEATED, State.LOGGED, State.OPEN))
    checks.between("outdoor temperature_c", outdoor_c, *_TEMPERATURES_C)
    checks.fraction("outdoor humidity", outdoor_humidity)
    checks.whole("state", state, len(State), ("house", "hour"))
    checks.between("air_changes_per_h", changes, 0.0, _BIG)
    checks.between("setpoint_c", setpoint_c, *_TEMPERATURES_C, where=heated)
    checks.between("logged_c", logged_c, *_TEMPERATURES_C, where=logged)
    checks.fraction("logged_humidity", logged_humidity, where=logged)
    logged, given, heated = (_by_hour(where) for where in (logged, is_open | logged, heated))
    outdoor_c, outdoor_humidity, changes = (
        _by_hour(values) for values in (outdoor_c, outdoor_humidity, changes)
    )
    return AirLayout(
        outdoor_c=outdoor_c,
        outdoor_humidity=outdoor_humidity,
        given=given,
        given_c=np.where(logged, logged_c.T, outdoor_c),
        given_humidity=np.where(logged, logged_humidity.T, outdoor_humidity),
        changed_kg=np.where(given, 0.0, changes) * dry_air_kg,
        target_c=np.where(heated, setpoint_c.T, -np.inf),
    )


def _dryers(dryers: Dryers, checks: Checks) -> DryerLayout:
    count = checks.an_hour("dryer count", dryers.count)
    rated = checks.a_house("rated_l_per_day", dryers.rated_l_per_day)
    rated_c = checks.a_house("rated_c", dryers.rated_c)
    rated_humidity = checks.a_house("rated_humidity", dryers.rated_humidity)
    hold = checks.a_house("hold_humidity", dryers.hold_humidity)
    tank_l = checks.a_house("tank_l", dryers.tank_l)
    least_c = checks.a_house("least_c", dryers.least_c)
    emptied = checks.an_hour("emptied", dryers.emptied)
    checks.between("dryer count", count, 0.0, _BIG)
    checks.between("rated_l_per_day", rated, 0.0, _BIG)
    checks.between("rated_c", rated_c, *_TEMPERATURES_C)
    checks.fraction("rated_humidity", rated_humidity)
    checks.fraction("hold_humidity", hold)
    checks.between("tank_l", tank_l, 0.0, np.inf)
    checks.between("least_c", least_c, *_TEMPERATURES_C)
    checks.between("emptied", emptied, 0.0, 1.0)
    with np.errstate(over="ignore", invalid="ignore"):
        share = relative_removal(rated_c, rated_humidity)
    checks.above_zero("removal at rated_c and rated_humidity", share)
    per_rating = np.divide(rated, share, out=np.zeros_like(share), where=share > 0)
    count = _by_hour(count)
    return DryerLayout(
        rating_kg=count * (per_rating * _LITRES_A_DAY_TO_KG_AN_HOUR),
        capacity_kg=count * np.minimum(tank_l, _BIG),
        emptied=_by_hour(emptied) > 0,
        hold_humidity=hold,
        least_c=least_c,
    )


def _heaters(heaters: Heaters, checks: Checks) -> HeaterLayout | None:
    heat_kw = checks.an_hour("heater heat_kw", heaters.heat_kw)
    hold_c = checks.an_hour("heater hold_c", heaters.hold_c)
    flame_share = checks.an_hour("heater flame_share", heaters.flame_share)
    on = heat_kw > 0.0
    checks.between("heater heat_kw", heat_kw, 0.0, _BIG)
    checks.between("heater hold_c", hold_c, *_TEMPERATURES_C, where=on)
    checks.between("heater flame_share", flame_share, 0.0, 1.0)
    if not on.any():
        return None
    return HeaterLayout(
        _by_hour(heat_kw), _by_hour(np.where(on, hold_c, -np.inf)), _by_hour(flame_share)
    )


def _coats(coats: Coats, air: AirLayout, checks: Checks) -> CoatLayout:
    hours, houses = air.outdoor_c.shape
    shape = np.atleast_1d(np.asarray(coats.house)).shape
    house, wall, hour, water_kg, amount = (
        checks.shaped(f"coat {name}", getattr(coats, name), shape)
        for name in ("house", "wall", "hour", "water_kg", "amount")
    )
    words = ("coat",)
    checks.whole("coat house", house, houses, words)
    checks.whole("coat wall", wall, _BIG, words)
    checks.whole("coat hour", hour, hours, words)
    checks.between("coat water_kg", water_kg, 0.0, _BIG, words=words)
    checks.above_zero("coat amount", amount, words)
    if checks.faults:
        return CoatLayout(*(np.zeros(0, dtype=np.int64),) * 3, np.zeros(0), np.zeros(0))
    whole_house = house.astype(np.int64)
    slot = _slots(whole_house, wall.astype(np.int64))
    return CoatLayout(whole_house, slot, hour.astype(np.int64), water_kg, amount)


def _slots(house: IntArray, wall: IntArray) -> IntArray:
    """Number each house's walls from 0 without gaps."""
    _, wall = np.unique(wall, return_inverse=True)
    kinds = len(wall) + 1
    walls, number = np.unique(house * kinds + wall, return_inverse=True)
    return np.asarray(number - np.searchsorted(walls, house * kinds))


def _by_hour[Values: (FloatArray, BoolArray)](values: Values) -> Values:
    """Return values with an hour of all houses together in memory; what repeats may stay a view."""
    return values.T if 0 in values.strides else np.ascontiguousarray(values.T)
