"""What keeps up with the water that a house's coats give off, in air held as it is wanted.

Answers for steady air; water_load.py and dryers.py have the formulas.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from finishing.rules.dryers import removal_kg_per_h
from finishing.rules.water_load import (
    air_change_needed,
    carried_out_kg_per_h,
    dryers_needed,
    given_off_kg_per_h,
)

TARGET_HUMIDITY = 0.55
"""Held by default: what the dehumidifier of the humid week in the notes on drying holds."""


@dataclass(frozen=True, slots=True)
class HeldAir:
    """Air as a house is to be held, and the air outside. Humidity is relative, a fraction."""

    temperature_c: float
    humidity: float
    outdoor_c: float
    outdoor_humidity: float
    volume_m3: float
    air_changes_per_h: float


@dataclass(frozen=True, slots=True)
class Dehumidifier:
    """A unit as its maker states it (see :func:`dryers.removal_kg_per_h`); it runs from
    hold_humidity (a fraction) on."""

    litres_per_day: float
    rated_c: float = 26.7
    rated_humidity: float = 0.6
    hold_humidity: float = 0.5
    least_c: float = 5.0


@dataclass(frozen=True, slots=True)
class WetCoat:
    """A coat's water and the drying it needs (1: the table's coat)."""

    water_kg: float
    amount: float


@dataclass(frozen=True, slots=True)
class KeepingUp:
    """What a load comes to, in kg an hour, and what keeps up with it.

    carried_out_kg_per_h: by the house's own air change; below 0 where that brings water in.
    removes_kg_per_h, dryers: of each unit asked about, what one takes out and how many keep up;
    None where none do. air_changes_per_h: that would do without any; None where none would.
    """

    water_kg: float
    given_off_kg_per_h: float
    flame_kg_per_h: float
    carried_out_kg_per_h: float
    removes_kg_per_h: tuple[float, ...]
    dryers: tuple[int | None, ...]
    air_changes_per_h: float | None


def given_off(coats: Iterable[WetCoat], held: HeldAir) -> float:
    """Return kg an hour that coats give off together in the air held."""
    rates = (
        given_off_kg_per_h(
            coat.water_kg, coat.amount, temperature_c=held.temperature_c, humidity=held.humidity
        )
        for coat in coats
    )
    return sum(map(float, rates))


def keeping_up(
    coats: Sequence[WetCoat],
    held: HeldAir,
    units: Sequence[Dehumidifier],
    *,
    flame_kg_per_h: float = 0.0,
) -> KeepingUp:
    """Return what keeps up with wet coats and flames that add so much water.

    Raises ValueError for a unit rated in air from which no dryer takes water.
    """
    coats_kg_per_h = given_off(coats, held)
    load = coats_kg_per_h + flame_kg_per_h
    around = {
        "temperature_c": held.temperature_c,
        "humidity": held.humidity,
        "outdoor_c": held.outdoor_c,
        "outdoor_humidity": held.outdoor_humidity,
    }
    carried = float(carried_out_kg_per_h(held.volume_m3, held.air_changes_per_h, **around))
    removes = tuple(_removes(unit, held) for unit in units)
    change = float(air_change_needed(load, held.volume_m3, **around))
    return KeepingUp(
        water_kg=sum(coat.water_kg for coat in coats),
        given_off_kg_per_h=coats_kg_per_h,
        flame_kg_per_h=flame_kg_per_h,
        carried_out_kg_per_h=carried,
        removes_kg_per_h=removes,
        dryers=tuple(_whole(float(dryers_needed(load - carried, one))) for one in removes),
        air_changes_per_h=change if math.isfinite(change) else None,
    )


def _removes(unit: Dehumidifier, held: HeldAir) -> float:
    if held.humidity < unit.hold_humidity:
        return 0.0  # it has switched itself off
    kg = removal_kg_per_h(
        held.temperature_c,
        held.humidity,
        rated_l_per_day=unit.litres_per_day,
        rated_c=unit.rated_c,
        rated_humidity=unit.rated_humidity,
        least_c=unit.least_c,
    )
    return float(kg)


def _whole(count: float) -> int | None:
    return int(count) if math.isfinite(count) else None
