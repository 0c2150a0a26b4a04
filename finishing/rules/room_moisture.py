"""Vapour in houses at the end of an hour, with the coats that feed it and are held back by it.

A room's vapour settles within minutes or hours, so the hour is stepped implicitly: what comes and
goes in it is taken at the humidity in which it ends. That cannot overshoot, however large air
change and load are. The one unknown of a house is the dryness ``y = (1 - RH)^0.90``: evaporation
is proportional to it until a coat runs dry, and the equation has one root, since more humidity
means more to go out and less to come off the walls.

A house whose walls are dry and whose dryers rest has it in closed form. In the others dryers are
all on, switch, or are all off: the balance at the ends of these pieces tells in which the root
lies, and curves through the last three points find it there. Three settle most houses; the rest,
where a wall runs dry within the hour or a tank fills, take a bracket.

Air that can hold no more leaves the rest on cold surfaces. That film goes back into the air
before any coat dries on, which is the damp side of the truth.
"""

from typing import NamedTuple

import numpy as np

from finishing.rules.climate_faults import BoolArray
from finishing.rules.dryers import DryerHour, kinks
from finishing.rules.drying import DRYNESS_POWER
from finishing.rules.units import FloatArray
from finishing.rules.wet_walls import IntArray, WallHour

_NEAR = 1e-5
"""Of an error of this part of a house's water one step more leaves less than a millionth."""
_FREE_STEPS = 3
_MOST_STEPS = 300
_HALVE_EVERY = 12
_NO_WIDTH = 1e-13
"""So narrow a bracket is a root too: a house without any water has no part of it to be near to."""
_INVERSE = 1.0 / DRYNESS_POWER


class RoomHour(NamedTuple):
    """What acts on each house's vapour in an hour (shapes: houses).

    light_kg: dry air that ends the hour as the room's, in it or gone out of it, times the mole
    ratio of water to it. pressures: of air over that of saturation. supply_kg: water in the house
    at the start, from flames, and brought in by air. bone_dry_rate: of drying.
    """

    light_kg: FloatArray
    pressures: FloatArray
    supply_kg: FloatArray
    bone_dry_rate: FloatArray

    def vapour_kg(self, humidity: FloatArray) -> FloatArray:
        """Return vapour in air of this humidity: the mass of :func:`climate.humidity_ratio`."""
        return self.light_kg * humidity / (self.pressures - humidity)

    def most_kg(self) -> FloatArray:
        """Return the vapour that the air can hold."""
        return self.light_kg / (self.pressures - 1.0)

    def humidity_alone(self) -> FloatArray:
        """Return the humidity in which the hour ends if no coat and no dryer has a part in it."""
        alone = self.pressures * self.supply_kg / (self.light_kg + self.supply_kg)
        return np.minimum(alone, 1.0)


class Ends(NamedTuple):
    """Ends of the pieces in which dryers are all on, switch, and are all off, from damp to dry.

    Shapes: (4, houses).
    """

    humidity: FloatArray
    dryness: FloatArray


class MoistureHour(NamedTuple):
    """The balance of an hour, as an equation in dryness."""

    room: RoomHour
    walls: WallHour
    dryers: DryerHour
    ends: Ends

    def only(self, at: IntArray) -> "MoistureHour":
        """Return the same for some of the houses."""
        return MoistureHour(
            RoomHour(*(values[at] for values in self.room)),
            WallHour(*(values.take(at, axis=1) for values in self.walls)),
            DryerHour(*(values[at] for values in self.dryers)),
            Ends(*(values.take(at, axis=1) for values in self.ends)),
        )

    def excess_kg(self, dryness: FloatArray) -> FloatArray:
        """Return water that is too much if the hour ends so dry: less, the drier it ends."""
        return self._excess_kg(dryness, humidity_of(dryness))

    def end_excess_kg(self) -> FloatArray:
        """Return the same at all ends of pieces, of shape (4, houses). In bone-dry air it is
        worked out only in hours in which some house's dryers are all off: else it is -inf."""
        room, excess_kg = self.room, np.empty_like(self.ends.dryness)
        excess_kg[0] = (
            room.most_kg() + self.dryers.removed_kg(self.ends.humidity[0]) - room.supply_kg
        )
        excess_kg[1:3] = self._excess_kg(self.ends.dryness[1:3], self.ends.humidity[1:3])
        excess_kg[3] = -np.inf
        if (excess_kg[2] > 0.0).any():
            excess_kg[3] = self._excess_kg(self.ends.dryness[3], self.ends.humidity[3])
        return excess_kg

    def _excess_kg(self, dryness: FloatArray, humidity: FloatArray) -> FloatArray:
        off_kg = self.walls.given_off_kg(self.room.bone_dry_rate * dryness)
        removed_kg = self.dryers.removed_kg(humidity)
        return self.room.vapour_kg(humidity) + removed_kg - off_kg - self.room.supply_kg

    def near(self, excess_kg: FloatArray) -> BoolArray:
        """Return where so much too much is next to nothing of the house's water."""
        return np.asarray(np.abs(excess_kg) <= _NEAR * self.room.supply_kg)


def humidity_of(dryness: FloatArray) -> FloatArray:
    """Return relative humidity (a fraction) at which (1 - RH)^0.90 is ``dryness``."""
    return np.asarray(1.0 - dryness**_INVERSE)


def dryness_of(humidity: FloatArray) -> FloatArray:
    """Return (1 - RH)^0.90 of relative humidity, a fraction."""
    return np.asarray((1.0 - humidity) ** DRYNESS_POWER)


def ends_of(hold_humidity: FloatArray) -> Ends:
    """Return the ends of pieces for dryers that hold these humidities (shape houses)."""
    all_on, all_off = kinks(hold_humidity)
    humidity = np.stack((np.ones_like(all_on), all_on, all_off, np.zeros_like(all_on)))
    return Ends(humidity, dryness_of(humidity))


def settled(hour: MoistureHour, *, skip: BoolArray) -> FloatArray:
    """Return the dryness in which each house ends the hour; 0 where its air is saturated.

    skip: houses whose air is known, left as if no coat and no dryer had a part in it.
    """
    alone = hour.room.humidity_alone()
    dryness = dryness_of(alone)
    busy = np.flatnonzero(~skip & (hour.walls.wet() | hour.dryers.run_at(alone)))
    if busy.size:
        dryness[busy] = _searched(hour.only(busy))
    return dryness


def _searched(hour: MoistureHour) -> FloatArray:
    with np.errstate(divide="ignore", invalid="ignore"):
        search = _Search(hour)
        left = np.flatnonzero(~(search.free_steps() | search.saturated))
        dryness = np.where(search.saturated, 0.0, search.now)
        if left.size:
            search.keep(left)
            for _ in range(_MOST_STEPS):
                if search.step().all():
                    break
            dryness[left] = search.now
    return dryness


class _Search:
    """Steps to the root of each house, within the piece of dryness that it lies in."""

    def __init__(self, hour: MoistureHour) -> None:
        """Look at the ends of all pieces first, and begin where the right one's chord is 0."""
        self._hour, self._steps = hour, 0
        ends, excess = hour.ends.dryness, hour.end_excess_kg()
        self.saturated = excess[0] <= 0.0
        house, piece = np.arange(ends.shape[1]), (excess[1:-1] > 0.0).sum(axis=0)
        self._low, self._low_excess = ends[piece, house], excess[piece, house]
        self._high, self._high_excess = ends[piece + 1, house], excess[piece + 1, house]
        share = self._low_excess / (self._low_excess - self._high_excess)
        chord = self._low + share * (self._high - self._low)
        self.now = self._within(np.where(np.isfinite(chord), chord, self._low))

    def free_steps(self) -> BoolArray:
        """Take the few steps that settle most houses, each to the root of the inverse parabola
        through the last three points; return which."""
        before, before_excess = self._low, self._low_excess
        last, last_excess = self._high, self._high_excess
        chord = (last - before) / (last_excess - before_excess)
        for _ in range(_FREE_STEPS):
            now, excess = self.now, self._hour.excess_kg(self.now)
            to_last = (now - last) / (excess - last_excess)
            bend = (to_last - chord) / (excess - before_excess)
            there = now - excess * (to_last - last_excess * bend)
            self.now = self._within(np.where(np.isfinite(there), there, now))
            before_excess, last, last_excess, chord = last_excess, now, excess, to_last
        self._last, self._last_excess = last, last_excess
        return self._hour.near(last_excess)

    def _within(self, dryness: FloatArray) -> FloatArray:
        return np.minimum(np.maximum(dryness, self._low), self._high)

    def keep(self, at: IntArray) -> None:
        """Go on with some of the houses."""
        self._hour = self._hour.only(at)
        self._low, self._high, self.now = self._low[at], self._high[at], self.now[at]
        self._last, self._last_excess = self._last[at], self._last_excess[at]

    def step(self) -> BoolArray:
        """Move ``now`` on within a bracket, halving it where a secant would leave it, and now
        and then, since kinks can send secants to and fro; return where it had come to the root."""
        now, excess = self.now, self._hour.excess_kg(self.now)
        damp, near = excess > 0.0, self._hour.near(excess)
        self._low = np.where(damp, now, self._low)
        self._high = np.where(damp, self._high, now)
        near |= self._high - self._low <= _NO_WIDTH
        slope = (excess - self._last_excess) / (now - self._last)
        self._last, self._last_excess = now, excess
        secant = now - excess / slope
        inside = (secant >= self._low) & (secant <= self._high)
        self._steps += 1
        if self._steps % _HALVE_EVERY == 0:
            inside &= near
        middle = (self._low + self._high) / 2
        self.now = np.where(inside, secant, np.where(near, now, middle))
        return near
