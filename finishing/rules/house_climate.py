"""The air in houses hour by hour, solved together with the coats that dry in it.

Houses do not touch each other; all are stepped at once (house_hour.py). What a house is, and how
it is run, is in house_inputs.py.
"""

from dataclasses import dataclass

import numpy as np

from finishing.rules.drying import dry_at
from finishing.rules.house_hour import HourDone, HouseAir
from finishing.rules.house_inputs import Site
from finishing.rules.site_layout import CoatLayout, laid_out
from finishing.rules.units import FloatArray


@dataclass(frozen=True, slots=True)
class WaterBalance:
    """Where each house's water came from and went, in kg (shapes: houses).

    In: before_kg (vapour at the start), laid_kg (in coats), air_in_kg, flame_kg. Out:
    air_out_kg, removed_kg (by dryers). Left at the end: in_coats_kg, vapour_kg, condensed_kg.
    In open and logged hours air changes at an unknown rate: what it brought on balance counts.
    """

    before_kg: FloatArray
    laid_kg: FloatArray
    air_in_kg: FloatArray
    flame_kg: FloatArray
    air_out_kg: FloatArray
    removed_kg: FloatArray
    in_coats_kg: FloatArray
    vapour_kg: FloatArray
    condensed_kg: FloatArray


@dataclass(frozen=True, slots=True)
class Climate:
    """The air of houses and what it does.

    hourly: as :class:`HourDone`, of shape (houses, hours) each. progress: drying done at each
    hour edge (houses, hours + 1), as :func:`drying.progress` gives it. dry_hours: for each coat
    the hour at which it and what it was laid over is dry, infinite where the weather ends before.
    """

    hourly: HourDone
    progress: FloatArray
    balance: WaterBalance
    dry_hours: FloatArray


def climate_of(site: Site) -> Climate:
    """Return the climate of every house of a site.

    Raises :class:`climate_faults.ClimateError` (a ValueError) that names every fault.
    """
    layout = laid_out(site)
    house_air = HouseAir(layout)
    before_kg = house_air.vapour_kg
    hours, houses = layout.air.outdoor_c.shape
    rows = HourDone(*(np.empty((hours, houses)) for _ in HourDone._fields))
    progress = np.zeros((hours + 1, houses))
    for hour in range(hours):
        done = house_air.step(hour)
        for row, values in zip(rows, done, strict=True):
            row[hour] = values
        progress[hour + 1] = progress[hour] + done.drying
    hourly = HourDone(*(row.T for row in rows))
    return Climate(
        hourly,
        progress.T,
        _balance(before_kg, layout.coats, hourly, house_air),
        _dry_hours(progress.T, layout.coats, house_air.amount_to_go),
    )


def _balance(
    before_kg: FloatArray, coats: CoatLayout, hourly: HourDone, at_end: HouseAir
) -> WaterBalance:
    return WaterBalance(
        before_kg=before_kg,
        laid_kg=np.bincount(coats.house, coats.water_kg, minlength=len(before_kg)),
        air_in_kg=at_end.air_in_kg,
        flame_kg=at_end.flame_kg,
        air_out_kg=at_end.air_out_kg,
        removed_kg=hourly.removed_kg.sum(axis=1),
        in_coats_kg=at_end.walls.water_kg.sum(axis=0),
        vapour_kg=at_end.vapour_kg,
        condensed_kg=at_end.condensed_kg,
    )


def _dry_hours(progress: FloatArray, coats: CoatLayout, amount_to_go: FloatArray) -> FloatArray:
    dry = np.empty(len(coats.house))
    by_house = np.argsort(coats.house, kind="stable")
    ends = np.cumsum(np.bincount(coats.house, minlength=len(progress)))
    for done, of_house in zip(progress, np.split(by_house, ends[:-1]), strict=True):
        dry[of_house] = dry_at(done, coats.hour[of_house], amount_to_go[of_house])
    return dry
