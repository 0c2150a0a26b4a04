"""Vapour in houses at the end of an hour, with the coats that feed it and are held back by it.

A room's vapour settles within minutes or hours, so the hour is stepped implicitly: what comes and
goes in it is taken at the humidity in which it ends. That cannot overshoot, however large air
change and load are. The one unknown of a house is the dryness ``y = (1 - RH)^0.90``: evaporation
is proportional to it until a coat runs dry, and the equation has one root, since more humidity
means more to go out and less to come off the walls.

It is found by secants, the first of them with the slope that the hour before ended with. Four
settle most houses; the kinks of a dryer that switches on and off take a bracket.

Air that can hold no more leaves the rest on cold surfaces. That film goes back into the air
before any coat dries on, which is the damp side of the truth.
"""

from typing import NamedTuple

import numpy as np

from finishing.rules.climate import humidity_ratio
from finishing.rules.climate_faults import BoolArray
from finishing.rules.dryers import DryerHour
from finishing.rules.drying import DRYNESS_POWER
from finishing.rules.units import FloatArray
from finishing.rules.wet_walls import IntArray, WallHour

_NEAR = 1e-9
"""An error of this part of a house's water is gone with one step more."""
_FREE_STEPS = 4
_MOST_STEPS = 300
_HALVE_EVERY = 12
_FLAT = -1e-30
_NO_MOVE = 1e-9
"""Over so small a move a slope would be rounding."""
_NO_WIDTH = 1e-13
"""So narrow a bracket is a root too: a house without any water has no part of it to be near to."""
_INVERSE = 1.0 / DRYNESS_POWER


class RoomHour(NamedTuple):
    """What acts on each house's vapour in an hour (shapes: houses).

    air_kg: dry air that ends the hour as the room's, in it or gone out of it. most_kg: vapour
    that it can hold. supply_kg: water in the house at the start, from flames, and brought in by
    air. bone_dry_rate: of drying.
    """

    air_kg: FloatArray
    most_kg: FloatArray
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
        return np.asarray(self.room.most_kg + self.dryers.most_kg() <= self.room.supply_kg)

    def excess_kg(self, dryness: FloatArray) -> FloatArray:
        """Return water that is too much if the hour ends so dry: less, the drier it ends."""
        room, humidity = self.room, humidity_of(dryness)
        off_kg = self.walls.given_off_kg(room.bone_dry_rate * dryness)
        vapour_kg = room.air_kg * humidity_ratio(humidity * room.saturation_kpa)
        return vapour_kg + self.dryers.removed_kg(humidity) - off_kg - room.supply_kg

    def near(self, excess_kg: FloatArray) -> BoolArray:
        """Return where so much too much is next to nothing of the house's water."""
        return np.asarray(np.abs(excess_kg) <= _NEAR * self.room.supply_kg)


class Root(NamedTuple):
    """Where houses end an hour, and by how many kg the excess of water rises with dryness there:
    below 0."""

    dryness: FloatArray
    slope: FloatArray


def humidity_of(dryness: FloatArray) -> FloatArray:
    """Return relative humidity (a fraction) at which (1 - RH)^0.90 is ``dryness``."""
    return np.asarray(1.0 - dryness**_INVERSE)


def dryness_of(humidity: FloatArray) -> FloatArray:
    """Return (1 - RH)^0.90 of relative humidity, a fraction."""
    return np.asarray((1.0 - humidity) ** DRYNESS_POWER)


def settled(hour: MoistureHour, guess: Root, *, skip: BoolArray) -> Root:
    """Return the dryness in which each house ends the hour; 0 where its air is saturated.

    guess: where to start, dryness from 0 to 1 and a slope below 0. skip: houses to leave at 0.
    """
    skip = skip | hour.saturates()
    near, root = _free_secants(hour, guess)
    left = np.flatnonzero(~(near | skip))
    if left.size:
        root.dryness[left], root.slope[left] = _bracketed(hour.only(left), root.dryness[left])
    root.dryness[skip] = 0.0
    return root


def _free_secants(hour: MoistureHour, guess: Root) -> tuple[BoolArray, Root]:
    """Take the few steps that settle most houses; return which, and where all have come to."""
    now, slope = guess.dryness, guess.slope.copy()
    last = last_excess = now
    for _ in range(_FREE_STEPS):
        excess, moved = hour.excess_kg(now), now - last
        np.divide(excess - last_excess, moved, out=slope, where=np.abs(moved) > _NO_MOVE)
        np.minimum(slope, _FLAT, out=slope)
        last, last_excess = now, excess
        now = np.minimum(np.maximum(now - excess / slope, 0.0), 1.0)
    return hour.near(last_excess), Root(now, slope)


def _bracketed(hour: MoistureHour, guess: FloatArray) -> Root:
    """Return the roots of houses that free steps leave: mostly of those whose dryers switch."""
    root = Root(np.empty_like(guess), np.empty_like(guess))
    left = np.ones(guess.size, dtype=np.bool_)
    with np.errstate(divide="ignore", invalid="ignore"):
        search = _Search(hour, guess)
        for _ in range(_MOST_STEPS):
            near = search.step()
            np.copyto(root.dryness, search.now, where=left)
            np.copyto(root.slope, search.slope, where=left)
            left &= ~near
            if not left.any():
                break
    return root


class _Search:
    """Secants to the root of each house within a bracket; halving where one would leave it, and
    now and then, since kinks can send secants to and fro."""

    def __init__(self, hour: MoistureHour, guess: FloatArray) -> None:
        """Look at both kinks of the dryers first, and keep to the side of them that is right."""
        self._hour, self._steps = hour, 0
        on, off = (dryness_of(humidity) for humidity in hour.dryers.kinks())
        on_excess, off_excess = hour.excess_kg(on), hour.excess_kg(off)
        above_on, above_off = on_excess > 0.0, off_excess > 0.0
        self._low = np.where(above_off, off, np.where(above_on, on, 0.0))
        self._high = np.where(above_off, 1.0, np.where(above_on, off, on))
        self._last = np.where(above_on, off, on)
        self._last_excess = np.where(above_on, off_excess, on_excess)
        inside = (guess > self._low) & (guess < self._high)
        chord = on + on_excess * (off - on) / (on_excess - off_excess)
        self.now = np.where(inside, guess, self._middle())
        self.now = np.where(above_on & ~above_off, chord, self.now)

    def step(self) -> BoolArray:
        """Move ``now`` on; return where it had come to the root."""
        now, excess = self.now, self._hour.excess_kg(self.now)
        damp, near = excess > 0.0, self._hour.near(excess)
        self._low = np.where(damp, now, self._low)
        self._high = np.where(damp, self._high, now)
        near |= self._high - self._low <= _NO_WIDTH
        self.slope = (excess - self._last_excess) / (now - self._last)
        self._last, self._last_excess = now, excess
        secant = now - excess / self.slope
        inside = (secant >= self._low) & (secant <= self._high)
        self._steps += 1
        if self._steps % _HALVE_EVERY == 0:
            inside &= near
        self.now = np.where(inside, secant, np.where(near, now, self._middle()))
        return near

    def _middle(self) -> FloatArray:
        return (self._low + self._high) / 2
