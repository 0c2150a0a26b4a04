"""A scenario's changes, made to the company itself: the edits that somebody would make by hand on
its pages, logged as those are. A function for each kind; nobody can make weather."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import chain, count
from typing import Any
from uuid import UUID

from finishing.models import Change as Edit
from finishing.models import (
    Company,
    Crew,
    CrewHours,
    CrewMember,
    DayOff,
    Dryer,
    ExtraHours,
    House,
    JointingSystem,
    User,
)
from finishing.models.owned import Owned
from finishing.rules.vocabulary import Heating
from finishing.services.dryers import add_dryer, edit_dryer
from finishing.services.house_edit import HouseEdit
from finishing.services.house_facts import edit_house_facts
from finishing.services.rows import change_row
from scheduling.services.crew_facts import add_crew, edit_crew_facts
from scheduling.services.scenario_changes import (
    CrewLess,
    CrewMore,
    FixedHandover,
    HeatedHouses,
    MoreDryers,
    OtherSystem,
    Saturdays,
)
from scheduling.services.tried_changes import imagined_id, imagined_name, saturday_hours

DRYER_COPIED = (
    "kind", "litres_per_day", "rated_c", "rated_humidity", "hold_humidity", "least_c", "tank_l",
    "heat_kw", "hold_c", "flame", "cost_per_day", "move_minutes",
)  # fmt: skip

LONGEST_NAME = 100
"""Of a crew or dryer that is new, so that a number and its people's places go behind it."""


@dataclass
class Making:
    """Who makes changes true, and when. crews: by the id it was tried under, a crew that is new."""

    company: Company
    by: User | None
    now: datetime
    crews: dict[str, Crew] = field(default_factory=dict)

    def row[R: Owned](self, kind: type[R], public_id: UUID) -> R:
        rows = kind._default_manager.select_related("company")
        return rows.get(company=self.company, public_id=public_id)

    def free_name(self, kind: type[Crew] | type[Dryer], wanted: str) -> str:
        """Return the name wanted, or that with a number where another of the kind has it."""
        rows = kind._default_manager.filter(company=self.company)
        taken = set(rows.values_list("name", flat=True))
        short = wanted[:LONGEST_NAME]
        names = chain([short], (f"{short} ({number})" for number in count(2)))
        return next(name for name in names if name not in taken)


def _crew_more(making: Making, change: CrewMore) -> None:
    """The new crew's people have the skills and days of those of the other, and names to come."""
    crew = making.row(Crew, change.crew)
    number = 1
    while str(imagined_id(change.crew, number)) in making.crews:
        number += 1
    facts = {name: getattr(crew, name) for name in ("zone", "language", "units")}
    name = making.free_name(Crew, imagined_name(crew, number))
    new = add_crew(company=making.company, facts={"name": name, **facts})
    making.crews[str(imagined_id(change.crew, number))] = new
    people = {}
    for place, member in enumerate(CrewMember.objects.filter(crew=crew).order_by("pk"), start=1):
        named = {"name": f"{name}, {place}", "email": "", "crew": new}
        people[member.pk] = _copied(member, ("skills", "from_day", "to_day"), named)
    for hours in CrewHours.objects.filter(crew=crew):
        _copied(hours, ("weekday", "start", "end"), {"crew": new})
    for extra in ExtraHours.objects.filter(crew=crew):
        _copied(extra, ("day", "start", "end"), {"crew": new})
    for off in DayOff.objects.filter(crew=crew):
        who = people[off.member_id] if off.member_id else None
        _copied(off, ("day", "reason"), {"crew": new, "member": who})


def _copied[R: Owned](row: R, names: Iterable[str], others: Mapping[str, Any]) -> R:
    """Store a row like another, but for some of its values."""
    values = {name: getattr(row, name) for name in names}
    copy = type(row)(company_id=row.company_id, **values, **others)
    copy.full_clean()
    copy.save()
    return copy


def _crew_less(making: Making, change: CrewLess) -> None:
    crew = making.row(Crew, change.crew)
    edit_crew_facts(crew=crew, version=crew.version, facts={"is_active": False}, now=making.now)


def _saturdays(making: Making, change: Saturdays) -> None:
    for public_id in change.crews:
        crew = making.row(Crew, public_id)
        for row in saturday_hours(crew, change.first, change.last):
            there = ExtraHours.objects.filter(crew=crew, day=row.day, start=row.start)
            if not there.exists():
                row.full_clean()
                row.save()


def _other_system(making: Making, change: OtherSystem) -> None:
    system = making.row(JointingSystem, change.system)
    for public_id in change.houses:
        house = making.row(House, public_id)
        HouseEdit(house, making.by, making.now).change(
            house,
            what=Edit.What.HOUSE,
            place="",
            version=house.version,
            values={"system": system},
        )
    if not change.houses and not system.is_default:
        for other in JointingSystem.objects.filter(company=making.company, is_default=True):
            change_row(other, version=other.version, values={"is_default": False})
        change_row(system, version=system.version, values={"is_default": True})


def _heated_houses(making: Making, change: HeatedHouses) -> None:
    for public_id in change.houses:
        heated = {"heating": Heating.HEATED, "setpoint_c": change.setpoint_c}
        _house_facts(making, public_id, {**heated, "heated_from": change.from_day})


def _fixed_handover(making: Making, change: FixedHandover) -> None:
    _house_facts(making, change.house, {"handover_on": change.day})


def _house_facts(making: Making, public_id: UUID, facts: Mapping[str, Any]) -> None:
    house = making.row(House, public_id)
    edit_house_facts(house=house, version=house.version, facts=facts, by=making.by, now=making.now)


def _more_dryers(making: Making, change: MoreDryers) -> None:
    row = making.row(Dryer, change.dryer)
    if change.house is None:
        edit_dryer(dryer=row, version=row.version, values={"count": row.count + change.count})
        return
    house = making.row(House, change.house)
    values = {name: getattr(row, name) for name in DRYER_COPIED}
    name = making.free_name(Dryer, f"{row.name}, {house.name}")
    more = {"name": name, "count": change.count, "house": house}
    add_dryer(company=making.company, values={**values, **more})


MAKE_TRUE: Mapping[type[Any], Callable[[Making, Any], None]] = {
    CrewMore: _crew_more,
    CrewLess: _crew_less,
    Saturdays: _saturdays,
    OtherSystem: _other_system,
    HeatedHouses: _heated_houses,
    MoreDryers: _more_dryers,
    FixedHandover: _fixed_handover,
}
"""What each kind of change is made true by; a kind that is not here is in nobody's hands."""
