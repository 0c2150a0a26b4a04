"""What the climate of houses is worked out from.

Every field is an array or a single number. "a house" fields broadcast to shape (houses,), "an
hour" fields to (houses, hours). ``houses`` is the length of ``Houses.volume_m3``, ``hours`` the
last length of ``Weather.temperature_c``.
"""

from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike

LOSS_W_PER_K_M3 = 0.5
"""Heat through the shell of a new house per m3 of its volume: common practice, no published
source."""
CAPACITY_WH_PER_K_M3 = 12.0
"""Heat stored per m3: 110 kJ/K per m2 of floor, the class "light" of EN ISO 13790 (from memory),
at rooms 2.5 m high."""


class State(IntEnum):
    """What a house is in an hour."""

    OPEN = 0
    """No windows yet: its air is outdoor air."""
    CLOSED = 1
    """Closed, unheated."""
    HEATED = 2
    """Closed, heated to a set-point as far as the heaters can."""
    LOGGED = 3
    """A device in the house has measured its air."""


@dataclass(frozen=True, slots=True)
class Houses:
    """A house: its volume and shell, and its heaters.

    loss_w_per_k, capacity_wh_per_k: heat through the shell and stored in it; None takes so much
    per m3. heat_kw: the most that its own heaters give. flame_share: the part of that heat which
    comes from unvented flames, which leave their water in the room.
    """

    volume_m3: ArrayLike
    loss_w_per_k: ArrayLike | None = None
    capacity_wh_per_k: ArrayLike | None = None
    heat_kw: ArrayLike = np.inf
    flame_share: ArrayLike = 0.0


@dataclass(frozen=True, slots=True)
class Weather:
    """Outdoor air, an hour."""

    temperature_c: ArrayLike
    humidity: ArrayLike


@dataclass(frozen=True, slots=True)
class Running:
    """How a house is run, an hour.

    state: of :class:`State`. air_changes_per_h: while closed or heated. setpoint_c: read where
    heated. logged_c, logged_humidity: read where logged.
    """

    state: ArrayLike
    air_changes_per_h: ArrayLike = 0.5
    setpoint_c: ArrayLike = np.nan
    logged_c: ArrayLike = np.nan
    logged_humidity: ArrayLike = np.nan


@dataclass(frozen=True, slots=True)
class Coats:
    """Coats that get on the walls of houses; each field has one value a coat.

    house: index. wall: index of what dries by itself within the house, a room for instance: a
    coat laid over one that is still wet dries after it. hour: start of the hour in which it is
    there, whole hours from the start of the weather. water_kg: what it gives off.
    amount: drying it needs, 1 for the table's coat (:func:`drying.thickness_amount`).
    """

    house: ArrayLike = ()
    wall: ArrayLike = ()
    hour: ArrayLike = ()
    water_kg: ArrayLike = ()
    amount: ArrayLike = ()


@dataclass(frozen=True, slots=True)
class Dryers:
    """Dehumidifiers of one kind in a house.

    count: how many are on, an hour. rated_l_per_day: what one takes out at rated_c and
    rated_humidity. hold_humidity: it starts above this. least_c: it ices up and stops below this
    (5 C: common practice, no published source). tank_l: infinite where it drains. emptied: an
    hour, whether somebody empties all tanks at its start.
    """

    count: ArrayLike = 0
    rated_l_per_day: ArrayLike = 0.0
    rated_c: ArrayLike = 26.7
    rated_humidity: ArrayLike = 0.6
    hold_humidity: ArrayLike = 0.5
    least_c: ArrayLike = 5.0
    tank_l: ArrayLike = np.inf
    emptied: ArrayLike = False


@dataclass(frozen=True, slots=True)
class Heaters:
    """Portable heaters in a house, an hour each; they warm it closed, whether or not it is heated
    by itself, and have no effect while it is open.

    heat_kw: the most that all that are on give. hold_c: up to where they heat, read where there
    are any. flame_share: the part of their heat that comes from unvented flames.
    """

    heat_kw: ArrayLike = 0.0
    hold_c: ArrayLike = np.nan
    flame_share: ArrayLike = 0.0


@dataclass(frozen=True, slots=True)
class Site:
    """Everything: the houses, their weather, how they are run, their coats, dryers and heaters.

    start_c, start_humidity: air at the start, a house; NaN takes that of the first hour
    outdoors, warmed to the set-point in a heated house, or what was logged.
    """

    houses: Houses
    weather: Weather
    running: Running
    coats: Coats = field(default_factory=Coats)
    dryers: Dryers = field(default_factory=Dryers)
    heaters: Heaters = field(default_factory=Heaters)
    start_c: ArrayLike = np.nan
    start_humidity: ArrayLike = np.nan
