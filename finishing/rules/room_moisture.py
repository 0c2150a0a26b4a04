"""Vapour in houses at the end of an hour, with the coats that feed it and are held back by it.

A room's vapour settles within minutes or hours, so the hour is stepped implicitly: what comes and
goes in it is taken at the humidity in which it ends. That cannot overshoot, however large air
change and load are. The one unknown of a house is the dryness ``y = (1 - RH)^0.90``: evaporation
is proportional to it until a coat runs dry, and the equation has one root, since more humidity
means more to go out and less to come off the walls.

Air that can hold no more leaves the rest on cold surfaces. That film goes back into the air
before any coat dries on, which is the damp side of the truth.
"""

from typing import NamedTuple

import numpy as np

from finishing.rules.climate import humidity_ratio, ratio_slope
from finishing.rules.climate_faults import BoolArray
from finishing.rules.dryers import DryerHour
from finishing.rules.drying import DRYNESS_POWER
from finishing.rules.units import FloatArray
from finishing.rules.wet_walls import IntArray, WallHour

_NEAR = 1e-6
"""An error of this part of a house's water is gone with one step more, its square being left."""
_MOST_STEPS = 300
_HALVE_EVERY = 12
_FLAT = -1e-30
_THIN_OUT = 4
"""Houses still to settle are looked at alone once they are one in so many."""
_INVERSE = 1.0 / DRYNESS_POWER


class RoomHour(NamedTuple):
    """What acts on each house's vapour in an hour (shapes: houses).

    air_kg: dry air that ends the hour as the room's, in it or gone out of it. supply_kg: water
    in the house at the start, from flames, and brought in by air. bone_dry_rate: of drying.
    """

    air_kg: FloatArray
    supply_kg: FloatArray
    saturation_kpa: FloatArray
    bone_dry_rate: FloatArray


class MoistureHour(NamedTuple):
    """The balance of an hour, as an equation in dryness."""

    room: RoomHour
    walls: WallHour
    dryers: DryerHour

    def only(self, at: IntArray) -> "MoistureHour":
        """Return the same for some of the houses."""
        return MoistureHour(
            RoomHour(*(values[at] for values in self.room)),
            WallHour(*(values.take(at, axis=1) for values in self.walls)),
            DryerHour(*(values[at] for values in self.dryers)),
        )

    def saturates(self) -> BoolArray:
        """Return where air that can hold no more is left with water, though no coat adds any."""
        room = self.room
        held_kg = room.air_kg * humidity_ratio(room.saturation_kpa)
        return np.asarray(held_kg + self.dryers.most_kg() <= room.supply_kg)

    def excess_kg(self, dryness: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return water that is too much if the hour ends so dry, and its slope: never above 0."""
        room, root = self.room, dryness ** (_INVERSE - 1.0)
        humidity = 1.0 - dryness * root
        vapour_kpa = humidity * room.saturation_kpa
        off_kg, off_slope = self.walls.given_off_kg(room.bone_dry_rate * dryness)
        removed_kg, removed_slope = self.dryers.removed_kg(humidity)
        vapour_slope = room.air_kg * ratio_slope(vapour_kpa) * room.saturation_kpa
        return (
            room.air_kg * humidity_ratio(vapour_kpa) + removed_kg - off_kg - room.supply_kg,
            -_INVERSE * root * (vapour_slope + removed_slope) - off_slope * room.bone_dry_rate,
        )


def humidity_of(dryness: FloatArray) -> FloatArray:
    """Return relative humidity (a fraction) at which (1 - RH)^0.90 is ``dryness``."""
    return np.asarray(1.0 - dryness**_INVERSE)


def dryness_of(humidity: FloatArray) -> FloatArray:
    """Return (1 - RH)^0.90 of relative humidity, a fraction."""
    return np.asarray((1.0 - humidity) ** DRYNESS_POWER)


def settled_dryness(hour: MoistureHour, guess: FloatArray, *, skip: BoolArray) -> FloatArray:
    """Return the dryness in which each house ends the hour; 0 where its air is saturated.

    guess: where to start, 0 to 1. skip: houses to leave at 0.
    """
    done = skip | hour.saturates()
    dryness = np.zeros_like(guess)
    at = np.arange(guess.size)
    search = _Search(hour, guess)
    for _ in range(_MOST_STEPS):
        if np.count_nonzero(done) * _THIN_OUT >= done.size * (_THIN_OUT - 1):
            keep = np.flatnonzero(~done)
            at, search = at[keep], search.only(keep)
            done = np.zeros(keep.size, dtype=np.bool_)
        if not at.size:
            break
        found = search.step(done)
        dryness[at[found]] = search.now[found]
        done |= found
    return dryness


class _Search:
    """Newton's steps to the root of each house; halving where one would leave the bracket, and
    now and then, since kinks can send Newton's steps to and fro."""

    def __init__(self, hour: MoistureHour, guess: FloatArray) -> None:
        self.hour, self.now = hour, guess
        self._low, self._high = np.zeros_like(guess), np.ones_like(guess)
        self._steps = 0

    def only(self, keep: IntArray) -> "_Search":
        """Return the search for some of the houses."""
        fewer = _Search(self.hour.only(keep), self.now[keep])
        fewer._low, fewer._high = self._low[keep], self._high[keep]
        fewer._steps = self._steps
        return fewer

    def step(self, done: BoolArray) -> BoolArray:
        """Move ``now`` on, but not where ``done``; return where it has come to the root."""
        excess, slope = self.hour.excess_kg(self.now)
        damp = excess > 0.0
        self._low = np.where(damp, self.now, self._low)
        self._high = np.where(damp, self._high, self.now)
        newton = self.now - excess / np.minimum(slope, _FLAT)
        inside = (newton >= self._low) & (newton <= self._high)
        near = np.abs(excess) <= _NEAR * self.hour.room.supply_kg
        self._steps += 1
        if self._steps % _HALVE_EVERY:
            self.now = np.where(done, self.now, np.where(inside, newton, self._middle()))
        else:
            self.now = np.where(done | near, self.now, self._middle())
        return near & ~done

    def _middle(self) -> FloatArray:
        return (self._low + self._high) / 2
