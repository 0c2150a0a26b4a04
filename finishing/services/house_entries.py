"""A house as someone gives it to us, before it becomes rows: what a file, a form or a call says."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from finishing.models import AirSource, Compound, JointingSystem, Room, Surface
from finishing.models.house import AIR_CHANGES_PER_H
from finishing.rules.room_shapes import Opening
from finishing.rules.vocabulary import CornerTool, Family, JointKind, RoomKind, Stage


@dataclass(frozen=True, slots=True)
class SurfaceEntry:
    """A ceiling or the walls of a room, with what was taken off."""

    part: Surface.Part
    family: Family
    level: str
    takeoff: Surface.Takeoff
    metres: Mapping[JointKind, float] = field(default_factory=dict)
    fasteners: int = 0
    area_m2: float = 0.0
    cornice_m: float = 0.0
    critical_light: bool = False
    wet_area: bool = False
    tiled_later: bool = False
    plastic_beads: bool = False


@dataclass(frozen=True, slots=True)
class RoomEntry:
    name: str
    surfaces: tuple[SurfaceEntry, ...]
    kind: RoomKind = RoomKind.ROOM
    length_m: float | None = None
    width_m: float | None = None
    height_m: float | None = None
    openings: tuple[Opening, ...] = ()
    edge: Room.Edge = Room.Edge.SQUARE_SET
    boards_along: bool = True


@dataclass(frozen=True, slots=True)
class CoatDoneEntry:
    """Where a part-finished area stands; ended_at in UTC."""

    stage: Stage
    ended_at: datetime
    compound: Compound | None = None
    done_by: str = ""


@dataclass(frozen=True, slots=True)
class AreaEntry:
    name: str
    rooms: tuple[RoomEntry, ...]
    floor: str = ""
    handover_on: date | None = None
    system: JointingSystem | None = None
    coat_done: CoatDoneEntry | None = None


@dataclass(frozen=True, slots=True)
class HouseEntry:
    """A whole house. setpoint_c: the temperature it is held at, from heated_from on where that is
    known; None where it is unheated. is_open: no windows yet, or not before closed_from."""

    name: str
    zone: str
    handover_on: date
    areas: tuple[AreaEntry, ...]
    address: str = ""
    latitude: float | None = None
    longitude: float | None = None
    opens_on: date | None = None
    weight: int = 1
    access: str = ""
    setpoint_c: float | None = None
    heated_from: date | None = None
    heat_kw: float | None = None
    is_open: bool = False
    closed_from: date | None = None
    volume_m3: float | None = None
    air_changes_per_h: float = AIR_CHANGES_PER_H
    flame_heater: bool = False
    old_joints: bool = False
    fire_rated: bool = False
    air_source: AirSource | None = None
    corner_tool: CornerTool = CornerTool.FLAT_KNIFE
    system: JointingSystem | None = None
