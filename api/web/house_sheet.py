"""A house's handover on paper: each surface with its level and when its last coat is dry, room for
remarks and for who hands it over to whom."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from api.web.houses import Handover, handovers
from api.web.standing import company_standing
from api.web.takeoff import SurfaceLine, surface_lines
from api.web.tasks import caution_texts
from finishing.models import Area, Company, House
from scheduling.models import PlannedTask
from scheduling.wording import moment, readiness_name, stage_name


@dataclass(frozen=True)
class SheetSurface:
    """A surface; ``last`` is the last stage planned in its room, ``dry`` when it is dry or set."""

    line: SurfaceLine
    last: str
    dry: str


@dataclass(frozen=True)
class SheetArea:
    """An area with its surfaces, room by room."""

    name: str
    surfaces: list[SheetSurface]


@dataclass(frozen=True)
class HouseSheet:
    """All that the sheet shows; ``missing`` is what the house does not offer yet."""

    house: House
    handovers: list[Handover]
    areas: list[SheetArea]
    missing: list[str]
    cautions: list[str]
    printed_at: str


def house_sheet(company: Company, public_id: UUID, *, now: datetime) -> HouseSheet:
    """Return a house's sheet by the working plan, in a fixed number of queries.

    Raise ``House.DoesNotExist`` where the company has no such house.
    """
    rows = House.objects.prefetch_related("areas__rooms__surfaces__joints", "readiness")
    house = rows.get(company=company, public_id=public_id)
    plan = company_standing(company).plan
    tasks = list(PlannedTask.objects.filter(company=company, plan=plan, house=house))
    zone = ZoneInfo(house.zone)
    return HouseSheet(
        house=house,
        handovers=handovers(plan, house),
        areas=[_area(area, tasks, zone) for area in house.areas.all()],
        missing=[readiness_name(row.item) for row in house.readiness.all() if not row.done],
        cautions=caution_texts(tasks),
        printed_at=moment(now, zone),
    )


def _area(area: Area, tasks: Iterable[PlannedTask], zone: ZoneInfo) -> SheetArea:
    """Return an area; tasks by time."""
    last: dict[str, PlannedTask] = {}
    dry: dict[str, datetime] = {}
    for task in tasks:
        if task.area_id == area.pk:
            room = str(task.details.get("room", ""))
            last[room] = task
            if task.ready_at:
                dry[room] = max(task.ready_at, dry.get(room, task.ready_at))
    return SheetArea(
        area.name,
        [
            SheetSurface(
                line,
                last=stage_name(last[line.room].stage) if line.room in last else "",
                dry=moment(dry[line.room], zone) if line.room in dry else "",
            )
            for line in surface_lines(area)
        ],
    )
