"""The air of a company's houses, each solved together with the coats and dryers in it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from finishing.models import House
from finishing.queries.volumes import volume_m3
from finishing.rules.climate import Air
from finishing.rules.drying import drying_hours, progress
from finishing.rules.house_climate import Climate, climate_of
from finishing.rules.house_inputs import Coats, Houses, Running, Site
from finishing.rules.house_inputs import Weather as Outdoors
from scheduling.services.air_layers import ASSUMED, Hours, Layer
from scheduling.services.dryers_in_air import Standing, dehumidifiers, heaters
from scheduling.services.house_air import HouseAir, HouseWater, air_inside
from scheduling.services.house_readings import with_readings
from scheduling.services.house_states import HouseStates, house_states
from scheduling.services.laid_coats import LaidCoat
from scheduling.services.stored_air import StoredAir, Weather
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline

A_DAY = 24
BEFORE_HOURS = 4 * A_DAY
"""Houses are followed from so long before the first coat or now: what they are like by then no
longer depends on how they are taken to start."""
SETTLED_HOURS = 10 * A_DAY
"""So long after the last coat and the last hour known, a house goes through each day as through
the one before: its weather does, and its coats are as dry as they get."""


@dataclass(frozen=True)
class WantedAir:
    """A house whose air is wanted, with its stored air, its weather and its coats."""

    house: House
    stored: StoredAir
    weather: Weather
    coats: tuple[LaidCoat, ...] = ()


def house_airs(
    wanted: Sequence[WantedAir],
    timeline: Timeline,
    *,
    now_hour: int,
    standing: Sequence[Standing] = (),
) -> list[HouseAir]:
    """Return the air of each house wanted; all are over the same hours."""
    if not wanted:
        return []
    span = _followed(wanted, now_hour, standing)
    names = [str(one.house.public_id) for one in wanted]
    states = [house_states(one.house, one.weather, one.stored, timeline) for one in wanted]
    site = Site(
        houses=Houses(
            np.array([volume_m3(one.house) for one in wanted]),
            heat_kw=np.array(
                [np.inf if one.house.heat_kw is None else one.house.heat_kw for one in wanted]
            ),
            flame_share=np.array([float(one.house.flame_heater) for one in wanted]),
        ),
        weather=Outdoors(
            np.array([one.weather.air.temperature_c[span] for one in wanted]),
            np.array([one.weather.air.humidity[span] for one in wanted]),
        ),
        running=Running(
            state=np.array([one.state[span] for one in states]),
            air_changes_per_h=np.array([[one.house.air_changes_per_h] for one in wanted]),
            setpoint_c=np.array([[_number(one.house.held_c)] for one in wanted]),
            logged_c=np.array([one.logged.temperature_c[span] for one in states]),
            logged_humidity=np.array([one.logged.humidity[span] for one in states]),
        ),
        coats=_coats(wanted, span),
        dryers=dehumidifiers(names, span, standing),
        heaters=heaters(names, span, standing),
    )
    climate = climate_of(site)
    return [
        _house_air(one, state, climate, place, span)
        for place, (one, state) in enumerate(zip(wanted, states, strict=True))
    ]


def _followed(wanted: Sequence[WantedAir], now_hour: int, standing: Sequence[Standing]) -> slice:
    """Return the hours through which the houses are followed."""
    hours = len(wanted[0].weather.air.kinds)
    wet = [coat.end_tick // TICKS_PER_HOUR for one in wanted for coat in one.coats]
    known = [int(np.flatnonzero(one.weather.air.kinds != ASSUMED).max(initial=0)) for one in wanted]
    first = min([now_hour, *(hour for hour in wet if hour >= 0)]) - BEFORE_HOURS
    last = max([now_hour, *known, *wet, *(stay.end_hour for stay in standing)])
    return slice(max(first, 0), min(last + SETTLED_HOURS, hours))


def _coats(wanted: Sequence[WantedAir], span: slice) -> Coats:
    laid = [
        (place, coat)
        for place, one in enumerate(wanted)
        for coat in one.coats
        if span.start <= coat.end_tick // TICKS_PER_HOUR < span.stop
    ]
    walls: dict[tuple[int, int], int] = {}
    return Coats(
        house=[place for place, _ in laid],
        wall=[walls.setdefault((coat.room.pk, coat.part), len(walls)) for _, coat in laid],
        hour=[coat.end_tick // TICKS_PER_HOUR - span.start for _, coat in laid],
        water_kg=[coat.water_kg for _, coat in laid],
        amount=[coat.amount for _, coat in laid],
    )


def _house_air(
    one: WantedAir, state: HouseStates, climate: Climate, place: int, span: slice
) -> HouseAir:
    """Return the climate's air with what was read in the house, over all hours."""
    weather = one.weather.air
    bare = air_inside(one.house, one.weather, Air(*weather[:2]))
    hourly = climate.hourly
    model = Air(
        _over_all(hourly.temperature_c[place], bare.temperature_c, span),
        _over_all(hourly.humidity[place], bare.humidity, span),
    )
    known = np.where(state.is_logged, state.logged.kinds, weather.kinds)
    air = with_readings(Layer(*model, known), one.stored.readings(), state.is_logged)
    bare_drying = np.diff(progress(*bare))
    drying = _over_all(hourly.drying[place], bare_drying, span)
    moved = (air.temperature_c != model.temperature_c) | (air.humidity != model.humidity)
    drying = np.where(moved, 1.0 / drying_hours(air.temperature_c, air.humidity), drying)
    return HouseAir(
        temperature_c=air.temperature_c,
        humidity=air.humidity,
        progress=np.concatenate(([0.0], np.cumsum(drying))),
        kinds=air.kinds,
        water=_water(one, climate, place, span),
        laid=one.coats,
        warmer_c=air.temperature_c - bare.temperature_c,
        drying_share=drying / bare_drying,
    )


def _water(one: WantedAir, climate: Climate, place: int, span: slice) -> HouseWater:
    hourly, nothing = climate.hourly, np.zeros(len(one.weather.air.kinds))
    evaporated_kg, removed_kg, condensed_kg = (
        _over_all(row[place], nothing, span)
        for row in (hourly.evaporated_kg, hourly.removed_kg, hourly.condensed_kg)
    )
    laid_kg = np.zeros(span.stop - span.start)
    for coat in one.coats:
        if span.start <= coat.end_tick // TICKS_PER_HOUR < span.stop:
            laid_kg[coat.end_tick // TICKS_PER_HOUR - span.start] += coat.water_kg
    in_coats_kg = _over_all(np.cumsum(laid_kg - hourly.evaporated_kg[place]), nothing, span)
    return HouseWater(in_coats_kg, condensed_kg, evaporated_kg, removed_kg)


def _over_all(followed: Hours, before: Hours, span: slice) -> Hours:
    """Return a series over all hours: as ``before``, then as followed, then day by day as on the
    last day."""
    after = len(before) - span.stop
    return np.concatenate(
        (before[: span.start], followed, np.resize(followed[-A_DAY:], after) if after else [])
    )


def _number(value: float | None) -> float:
    return np.nan if value is None else value
