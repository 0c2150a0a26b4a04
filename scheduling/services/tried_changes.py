"""A scenario's changes, made to what was read for one problem: a function for each kind.

Rows are changed as they lie in memory, read for this problem and for nothing else; none of them is
ever stored. A change that names a row which is no more changes nothing.
"""

from collections.abc import Callable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any
from uuid import NAMESPACE_OID, UUID, uuid5

from django.utils.translation import gettext

from finishing.models import Crew, Dryer, ExtraHours, House, JointingSystem
from finishing.rules.vocabulary import Heating
from scheduling.services.room_work import Settings
from scheduling.services.scenario_changes import (
    CrewLess,
    CrewMore,
    FixedHandover,
    HeatedHouses,
    MoreDryers,
    OtherSystem,
    OtherWeather,
    Saturdays,
    ScenarioChange,
)
from scheduling.services.weather_shift import WeatherShift

SATURDAY = 5


@dataclass
class Ground:
    """What is read of a company before its problem is made, of which some may be otherwise.

    crews: all, those that get no new work too. extra_hours: by crew (id), besides those stored.
    imagined: crews (ids) that have no row. shifts: of the weather.
    """

    houses: list[House]
    crews: list[Crew]
    settings: Settings
    dryers: dict[str, Dryer]
    extra_hours: dict[str, tuple[ExtraHours, ...]] = field(default_factory=dict)
    imagined: set[str] = field(default_factory=set)
    shifts: list[WeatherShift] = field(default_factory=list)

    def crew(self, public_id: UUID) -> Crew | None:
        return next((crew for crew in self.crews if crew.public_id == public_id), None)

    def houses_named(self, ids: tuple[UUID, ...]) -> Iterator[House]:
        return (house for house in self.houses if house.public_id in ids)


def make_changes(ground: Ground, changes: tuple[ScenarioChange, ...]) -> Ground:
    """Return what was read with all changes made, in order."""
    for change in changes:
        MAKE[type(change)](ground, change)
    return ground


def imagined_id(crew: UUID, number: int) -> UUID:
    """Return the id of a crew that is only tried: always the same for the same crew and number."""
    return uuid5(NAMESPACE_OID, f"{crew} {number}")


def imagined_name(crew: Crew, number: int) -> str:
    """Return what a crew that is only tried is called."""
    return gettext("%(crew)s, crew %(n)s more") % {"crew": crew.name, "n": number}


def saturday_hours(crew: Crew, first: date, last: date) -> list[ExtraHours]:
    """Return hours, not stored, on each Saturday from a day to another: those of the crew's last
    working day before it, for a crew that has Saturdays off."""
    weekly = [row for row in crew.hours.all() if row.weekday <= SATURDAY]
    latest = max((row.weekday for row in weekly), default=SATURDAY)
    if latest == SATURDAY:
        return []
    day = first + timedelta(days=(SATURDAY - first.weekday()) % 7)
    found = []
    while day <= last:
        found += [
            ExtraHours(company_id=crew.company_id, crew=crew, day=day, start=row.start, end=row.end)
            for row in weekly
            if row.weekday == latest
        ]
        day += timedelta(weeks=1)
    return found


def _crew_more(ground: Ground, change: CrewMore) -> None:
    crew = ground.crew(change.crew)
    if crew is None:
        return
    number = 1
    while str(imagined_id(change.crew, number)) in ground.imagined:
        number += 1
    twin = copy(crew)
    twin.public_id = imagined_id(change.crew, number)
    twin.name, twin.is_active = imagined_name(crew, number), True
    ground.crews.append(twin)
    ground.imagined.add(str(twin.public_id))
    ground.extra_hours[str(twin.public_id)] = ground.extra_hours.get(str(crew.public_id), ())


def _crew_less(ground: Ground, change: CrewLess) -> None:
    if crew := ground.crew(change.crew):
        crew.is_active = False


def _saturdays(ground: Ground, change: Saturdays) -> None:
    for crew in ground.crews:
        if crew.public_id in change.crews:
            known = ground.extra_hours.get(str(crew.public_id), ())
            more = saturday_hours(crew, change.first, change.last)
            ground.extra_hours[str(crew.public_id)] = (*known, *more)


def _other_system(ground: Ground, change: OtherSystem) -> None:
    rows = JointingSystem.objects.filter(company=ground.settings.company)
    system = rows.filter(public_id=change.system).first()
    if system is None:
        return
    for house in ground.houses_named(change.houses):
        house.system = system
    if not change.houses:
        ground.settings = replace(ground.settings, default_system=system.pk)


def _heated_houses(ground: Ground, change: HeatedHouses) -> None:
    for house in ground.houses_named(change.houses):
        house.heating, house.setpoint_c = Heating.HEATED, change.setpoint_c
        house.heated_from = change.from_day


def _more_dryers(ground: Ground, change: MoreDryers) -> None:
    row = ground.dryers.get(str(change.dryer))
    if row is None:
        return
    if change.house is None:
        row.count += change.count
        return
    for house in ground.houses_named((change.house,)):
        units = copy(row)
        number = len(ground.dryers)
        units.public_id = imagined_id(change.dryer, number)
        units.house, units.count = house, change.count
        ground.dryers[str(units.public_id)] = units


def _fixed_handover(ground: Ground, change: FixedHandover) -> None:
    for house in ground.houses_named((change.house,)):
        house.handover_on = change.day


def _other_weather(ground: Ground, change: OtherWeather) -> None:
    shift = WeatherShift(change.first, change.last, change.warmer_c, change.damper)
    ground.shifts.append(shift)


MAKE: Mapping[type[Any], Callable[[Ground, Any], None]] = {
    CrewMore: _crew_more,
    CrewLess: _crew_less,
    Saturdays: _saturdays,
    OtherSystem: _other_system,
    HeatedHouses: _heated_houses,
    MoreDryers: _more_dryers,
    FixedHandover: _fixed_handover,
    OtherWeather: _other_weather,
}
"""What each kind of change does to what was read."""
