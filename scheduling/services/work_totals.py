"""What a room, an area or a house comes to: metres, board, compound and hours by stage.

Of rooms as stored, or as somebody is typing them: nothing here is written.
"""

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field

from finishing.models import Area, Company, House, Room, Surface
from finishing.rules.materials import Material, stage_material
from finishing.rules.room_shapes import LINEAR_JOINTS
from finishing.rules.vocabulary import JointKind, Stage
from finishing.services.house_entries import RoomEntry, SurfaceEntry
from finishing.services.houses import SURFACE_FIELDS
from finishing.services.rooms import room_entry
from scheduling.services.room_work import ORDER, RoomStage, Settings, stages_of


@dataclass(frozen=True, slots=True)
class StageTotal:
    """A stage's work: wet compound with waste, and person-minutes without set-up and way."""

    litres: float = 0.0
    kg: float = 0.0
    person_minutes: int = 0

    def __add__(self, other: "StageTotal") -> "StageTotal":
        return StageTotal(
            self.litres + other.litres,
            self.kg + other.kg,
            self.person_minutes + other.person_minutes,
        )


@dataclass(frozen=True, slots=True)
class WorkTotals:
    """metres: by linear joint kind. area_m2: of board. stages: by stage, in order of doing."""

    metres: Mapping[JointKind, float] = field(
        default_factory=lambda: dict.fromkeys(LINEAR_JOINTS, 0.0)
    )
    area_m2: float = 0.0
    fasteners: int = 0
    cornice_m: float = 0.0
    stages: Mapping[Stage, StageTotal] = field(default_factory=dict)

    @property
    def all_stages(self) -> StageTotal:
        """The sum over the stages."""
        return sum(self.stages.values(), StageTotal())


def added(totals: Iterable[WorkTotals]) -> WorkTotals:
    """Return the sum of totals."""
    listed = list(totals)
    stages = {
        stage: sum((one.stages.get(stage, StageTotal()) for one in listed), StageTotal())
        for stage in ORDER
        if any(stage in one.stages for one in listed)
    }
    return WorkTotals(
        metres={kind: sum(one.metres[kind] for one in listed) for kind in LINEAR_JOINTS},
        area_m2=sum(one.area_m2 for one in listed),
        fasteners=sum(one.fasteners for one in listed),
        cornice_m=sum(one.cornice_m for one in listed),
        stages=stages,
    )


def room_totals(entry: RoomEntry, area: Area, settings: Settings) -> WorkTotals:
    """Return what a room comes to, its quantities as they stand in the entry."""
    room = Room(
        company=settings.company,
        area=area,
        name=entry.name,
        kind=entry.kind,
        height_m=entry.height_m,
    )
    surfaces = [_as_row(room, surface) for surface in entry.surfaces]
    return WorkTotals(
        metres={
            kind: sum(surface.metres.get(kind, 0.0) for surface in entry.surfaces)
            for kind in LINEAR_JOINTS
        },
        area_m2=sum(surface.area_m2 for surface in entry.surfaces),
        fasteners=sum(surface.fasteners for surface in entry.surfaces),
        cornice_m=sum(surface.cornice_m for surface in entry.surfaces),
        stages={
            stage.stage: _stage_total(stage) for stage in stages_of(room, surfaces, area, settings)
        },
    )


def house_totals(
    house: House,
    settings: Settings,
    *,
    instead: Mapping[int, RoomEntry] | None = None,
    without: Container[int] = (),
) -> dict[int, WorkTotals]:
    """Return by room (primary key) what the rooms of a house come to; reads areas, rooms, surfaces
    and joints, which should be prefetched. instead: rooms as they are typed. without: rooms that
    are left out."""
    typed = instead or {}
    return {
        room.pk: room_totals(typed.get(room.pk) or room_entry(room), area, settings)
        for area in house.areas.all()
        for room in area.rooms.all()
        if room.pk not in without
    }


def house_for_totals(company: Company, **which: object) -> House:
    """Return a house with all that its totals read, in five queries; raise House.DoesNotExist."""
    rows = House.objects.filter(company=company).select_related("company", "system")
    return rows.prefetch_related("areas__rooms__surfaces__joints").get(**which)


def _as_row(room: Room, entry: SurfaceEntry) -> tuple[Surface, dict[JointKind, float]]:
    values = {name: getattr(entry, name) for name in SURFACE_FIELDS}
    quantities = {
        **entry.metres,
        JointKind.FASTENERS: float(entry.fasteners),
        JointKind.SURFACE: entry.area_m2,
    }
    present = {kind: amount for kind, amount in quantities.items() if amount > 0}
    return Surface(room=room, part=entry.part, **values), present


def _stage_total(stage: RoomStage) -> StageTotal:
    parts: list[Material] = [
        stage_material(
            part.work, part.quantities, area_m2=part.surface.area_m2, compound=stage.compound
        )
        for part in stage.surfaces
    ]
    return StageTotal(
        sum(part.litres for part in parts), sum(part.kg for part in parts), stage.person_minutes
    )
