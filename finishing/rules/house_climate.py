"""The air in houses hour by hour, solved together with the coats that dry in it.

Houses do not touch each other; all are stepped at once (house_hour.py). What a house is, and how
it is run, is in house_inputs.py.
"""

from dataclasses import dataclass

import numpy as np

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
        _dry_hours(progress, layout.coats, house_air.amount_to_go),
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
    """Return for all coats at once what :func:`drying.dry_at` does for one house's.

    progress: shape (hours + 1, houses). The hours that may be a coat's last are halved until one
    is left; in that it dries evenly.
    """
    end = len(progress) - 1
    wanted = progress[coats.hour, coats.house] + amount_to_go
    first, last = coats.hour, np.full_like(coats.hour, end)
    for _ in range(end.bit_length()):
        middle = (first + last) // 2
        wet = progress[middle, coats.house] < wanted
        first, last = np.where(wet, middle, first), np.where(wet, last, middle)
    done, drying = progress[first, coats.house], progress[last, coats.house]
    drying = drying - done
    share = np.divide(wanted - done, drying, out=np.zeros_like(wanted), where=drying > 0.0)
    return np.where(wanted <= progress[end, coats.house], first + share, np.inf)
