"""What a scenario may have otherwise: a class for each kind of change, as it is stored and read.

What a kind does to a problem is in ``tried_changes.py``, what is wrong with one in
``scenario_faults.py``, what the company would have to make of it in ``change_steps.py``.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, ClassVar
from uuid import UUID

Json = dict[str, Any]


@dataclass(frozen=True)
class CrewMore:
    """Another crew that works whenever this one does, with as many people of the same skills.
    Nobody is lent to it or by it."""

    kind: ClassVar[str] = "crew_more"
    crew: UUID


@dataclass(frozen=True)
class CrewLess:
    """The crew gets no new work."""

    kind: ClassVar[str] = "crew_less"
    crew: UUID


@dataclass(frozen=True)
class Saturdays:
    """Crews work on the Saturdays from one day to another, as on their last day of the week, at
    the company's price for extra hours."""

    kind: ClassVar[str] = "saturdays"
    crews: tuple[UUID, ...]
    first: date
    last: date


@dataclass(frozen=True)
class OtherSystem:
    """Another jointing system, for some houses, or for all that have none of their own where no
    house is named. Areas with a system of their own keep it."""

    kind: ClassVar[str] = "other_system"
    system: UUID
    houses: tuple[UUID, ...] = ()


@dataclass(frozen=True)
class HeatedHouses:
    """Houses held at a temperature (C) by heating of their own, from a day on or at once."""

    kind: ClassVar[str] = "heated_houses"
    houses: tuple[UUID, ...]
    setpoint_c: float
    from_day: date | None = None


@dataclass(frozen=True)
class MoreDryers:
    """So many more units of a kind of dryer, which stand in a house all the time, or wherever they
    help where none is named."""

    kind: ClassVar[str] = "more_dryers"
    dryer: UUID
    count: int
    house: UUID | None = None


@dataclass(frozen=True)
class FixedHandover:
    """A house is to be handed over by another day; areas with a day of their own keep it."""

    kind: ClassVar[str] = "fixed_handover"
    house: UUID
    day: date


@dataclass(frozen=True)
class OtherWeather:
    """Outdoor air that is damper (by a fraction) or warmer (kelvin) from a day to another."""

    kind: ClassVar[str] = "other_weather"
    first: date
    last: date
    damper: float = 0.0
    warmer_c: float = 0.0


type ScenarioChange = (
    CrewMore
    | CrewLess
    | Saturdays
    | OtherSystem
    | HeatedHouses
    | MoreDryers
    | FixedHandover
    | OtherWeather
)
KINDS: Mapping[str, type[ScenarioChange]] = {
    kind.kind: kind
    for kind in (
        CrewMore,
        CrewLess,
        Saturdays,
        OtherSystem,
        HeatedHouses,
        MoreDryers,
        FixedHandover,
        OtherWeather,
    )
}


def change_json(change: ScenarioChange) -> Json:
    """Return a change as it is stored."""
    values = {name: _plain(value) for name, value in asdict(change).items()}
    return {"kind": change.kind, **values}


def change_of(stored: Mapping[str, Any]) -> ScenarioChange:
    """Return a change from what is stored of it."""
    values = {name: _READ[name](value) for name, value in stored.items() if name in _READ}
    return KINDS[stored["kind"]](**values)


def changes_of(stored: list[Json]) -> tuple[ScenarioChange, ...]:
    """Return a scenario's changes, in order."""
    return tuple(map(change_of, stored))


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return str(value) if isinstance(value, UUID | date) else value


def _ids(value: list[str]) -> tuple[UUID, ...]:
    return tuple(map(UUID, value))


def _id(value: str | None) -> UUID | None:
    return UUID(value) if value else None


def _day(value: str | None) -> date | None:
    return date.fromisoformat(value) if value else None


_READ: Mapping[str, Any] = {
    "crew": _id,
    "crews": _ids,
    "system": _id,
    "house": _id,
    "houses": _ids,
    "dryer": _id,
    "count": int,
    "first": _day,
    "last": _day,
    "day": _day,
    "from_day": _day,
    "setpoint_c": float,
    "damper": float,
    "warmer_c": float,
}
