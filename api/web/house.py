"""The house page: what is to be finished there, and what is planned when."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Prefetch

from api.web.crew_words import CrewWord, crew_words
from api.web.houses import Handover, handovers
from api.web.readiness import ReadinessPart, readiness_part
from api.web.standing import Standing, company_standing, warnings
from api.web.takeoff import SurfaceLine, surface_lines
from api.web.tasks import StageGroup, caution_texts, stage_groups
from api.web.visits import house_tint
from finishing.models import Area, Closure, Company, House
from scheduling.dryer_wording import dryer_sentence
from scheduling.models import Plan, PlannedTask
from scheduling.queries.edits import is_edited_since_planned
from scheduling.wording import moment, stage_name


@dataclass(frozen=True)
class Entered:
    """Where an area stood when it was entered part-finished; ``ended`` on the house's clock."""

    stage: str
    compound: str
    ended: str
    done_by: str


@dataclass(frozen=True)
class AreaPart:
    """An area: its takeoff, what was done before, when others have it, what is planned."""

    public_id: UUID
    name: str
    handover_on: date | None
    entered: Entered | None
    closures: Sequence[Closure]
    surfaces: list[SurfaceLine]
    stages: list[StageGroup]


@dataclass(frozen=True)
class HousePage:
    """All that the page shows."""

    house: House
    tint: int
    standing: Standing
    handovers: list[Handover]
    warnings: list[str]
    areas: list[AreaPart]
    other_stages: list[StageGroup]
    readiness: ReadinessPart
    is_edited_since: bool
    dryers: list[str]
    cautions: list[str]
    air_assumed_from: str
    words: list[CrewWord]


def house_page(company: Company, public_id: UUID, *, now: datetime, with_prices: bool) -> HousePage:
    """Return a house's page in a fixed number of queries; with_prices: for who may see what things
    cost.

    Raise ``House.DoesNotExist`` where the company has no such house.
    """
    house = _house(company, public_id)
    standing = company_standing(company)
    plan = standing.plan
    tasks = _tasks(plan, house) if plan else []
    return HousePage(
        house=house,
        tint=house_tint(house),
        standing=standing,
        handovers=handovers(plan, house),
        warnings=warnings(plan, [house]),
        areas=[_area_part(area, house.zone, tasks, now) for area in house.areas.all()],
        other_stages=_stages_in(None, house.zone, tasks, now),
        readiness=readiness_part(company, house, plan, tasks, now=now),
        is_edited_since=is_edited_since_planned(house),
        dryers=_dryers(plan, house, with_prices=with_prices) if plan else [],
        cautions=caution_texts(tasks),
        air_assumed_from=_air_assumed_from(plan, house) if plan else "",
        words=crew_words(company, house),
    )


def _house(company: Company, public_id: UUID) -> House:
    areas = Area.objects.select_related("coat_done", "coat_done__compound")
    rows = House.objects.filter(company=company).select_related("company", "air_source", "system")
    return rows.prefetch_related(
        Prefetch("areas", queryset=areas),
        Prefetch("areas__closures", queryset=Closure.objects.order_by("first_day", "id")),
        "areas__rooms__surfaces__joints",
        "readiness",
    ).get(public_id=public_id)


def _tasks(plan: Plan, house: House) -> list[PlannedTask]:
    rows = PlannedTask.objects.filter(company=plan.company_id, plan=plan, house=house)
    return list(rows.select_related("crew"))


def _area_part(area: Area, zone: str, tasks: Sequence[PlannedTask], now: datetime) -> AreaPart:
    return AreaPart(
        public_id=area.public_id,
        name=area.name,
        handover_on=area.handover_on,
        entered=_entered(area, zone),
        closures=list(area.closures.all()),
        surfaces=surface_lines(area),
        stages=_stages_in(area.pk, zone, tasks, now),
    )


def _stages_in(
    area_id: int | None, zone: str, tasks: Sequence[PlannedTask], now: datetime
) -> list[StageGroup]:
    return stage_groups([t for t in tasks if t.area_id == area_id], zone, now)


def _entered(area: Area, zone: str) -> Entered | None:
    done = getattr(area, "coat_done", None)  # a one-to-one row that is not there raises
    if done is None:
        return None
    compound = done.compound.name if done.compound else ""
    ended = moment(done.ended_at, ZoneInfo(zone))
    return Entered(stage_name(done.stage), compound, ended, done.done_by)


def _dryers(plan: Plan, house: House, *, with_prices: bool) -> list[str]:
    here = (row for row in plan.dryers if row.get("house_id") == str(house.public_id))
    rows = here if with_prices else ({**row, "cost": 0} for row in here)
    return [dryer_sentence(row, ZoneInfo(house.zone), house.company) for row in rows]


def _air_assumed_from(plan: Plan, house: House) -> str:
    hour = plan.air_assumed_from.get(str(house.public_id))
    return moment(hour, ZoneInfo(house.zone)) if hour else ""
