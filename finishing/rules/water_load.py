"""How much water a house's coats give off, and what keeps up with it.

Answers for steady air, an hour's worth at a time; house_climate.py works them out for changing
air. Any shapes, broadcast against each other.
"""

from collections.abc import Mapping

import numpy as np

from finishing.rules.climate import DRY_AIR_KG_PER_M3, humidity_ratio, vapour_kpa
from finishing.rules.coats import StageWork
from finishing.rules.drying import DRYNESS_POWER, bone_dry_rate, saturation_kpa
from finishing.rules.materials import litres_for
from finishing.rules.units import FloatArray, Numbers
from finishing.rules.vocabulary import Compound, JointKind


def stage_water_kg(
    stage_work: StageWork,
    quantities: Mapping[JointKind, float],
    *,
    area_m2: float,
    compound: Compound | None,
) -> float:
    """Return the water in a stage's coat, in kg: its volume by the compound's water.

    quantities: metres of each joint kind and the count of fasteners. compound: None for a stage
    that uses none. Some of a setting compound's water stays bound in it; all is counted.
    """
    if compound is None:
        return 0.0
    litres = litres_for(stage_work, quantities, area_m2=area_m2)
    return litres * compound.density_kg_per_l * compound.water_fraction


def given_off_kg_per_h(
    water_kg: Numbers, amount: Numbers, *, temperature_c: Numbers, humidity: Numbers
) -> FloatArray:
    """Return kg an hour that wet coats give off in air held so.

    water_kg, amount: what they hold, and the drying they need (1: the table's coat). humidity:
    relative, a fraction; nothing comes off in saturated air.
    """
    dryness = (1.0 - np.asarray(humidity)) ** DRYNESS_POWER
    rate = bone_dry_rate(saturation_kpa(temperature_c)) * dryness
    return np.asarray(water_kg / amount * rate)


def dryers_needed(load_kg_per_h: Numbers, one_removes_kg_per_h: Numbers) -> FloatArray:
    """Return how many dryers keep up with a load; infinite where one removes nothing.

    load_kg_per_h: water from coats and flames, less what air carries out
    (:func:`carried_out_kg_per_h`). one_removes_kg_per_h: :func:`dryers.removal_kg_per_h`, in the
    air that is to be held.
    """
    load = np.maximum(np.asarray(load_kg_per_h, dtype=np.float64), 0.0)
    one = np.asarray(one_removes_kg_per_h, dtype=np.float64)
    load, one = np.broadcast_arrays(load, one)
    many = np.where(load > 0.0, np.inf, 0.0)
    return np.ceil(np.divide(load, one, out=many, where=one > 0.0))


def air_change_needed(
    load_kg_per_h: Numbers,
    volume_m3: Numbers,
    *,
    temperature_c: Numbers,
    humidity: Numbers,
    outdoor_c: Numbers,
    outdoor_humidity: Numbers,
) -> FloatArray:
    """Return air changes an hour that keep up with a load, the house being held so.

    Humidity is relative, a fraction. Infinite where outdoor air holds as much water or more.
    """
    per_change = carried_out_kg_per_h(
        volume_m3,
        1.0,
        temperature_c=temperature_c,
        humidity=humidity,
        outdoor_c=outdoor_c,
        outdoor_humidity=outdoor_humidity,
    )
    load = np.maximum(np.asarray(load_kg_per_h, dtype=np.float64), 0.0)
    load, per_change = np.broadcast_arrays(load, per_change)
    never = np.where(load > 0.0, np.inf, 0.0)
    return np.asarray(np.divide(load, per_change, out=never, where=per_change > 0.0))


def carried_out_kg_per_h(
    volume_m3: Numbers,
    air_changes_per_h: Numbers,
    *,
    temperature_c: Numbers,
    humidity: Numbers,
    outdoor_c: Numbers,
    outdoor_humidity: Numbers,
) -> FloatArray:
    """Return kg an hour that air change carries out of a house; below 0 where it brings water in.

    Humidity is relative, a fraction.
    """
    inside = humidity_ratio(vapour_kpa(temperature_c, humidity))
    outside = humidity_ratio(vapour_kpa(outdoor_c, outdoor_humidity))
    return np.asarray(DRY_AIR_KG_PER_M3 * volume_m3 * air_changes_per_h * (inside - outside))
