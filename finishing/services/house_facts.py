"""Editing what a house is like: its days, hours, shell and heating, and its areas' own days."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Area, Change, House, User
from finishing.rules.vocabulary import Heating
from finishing.services.errors import Fault, InputFaults
from finishing.services.house_edit import HouseEdit
from finishing.services.rows import all_or_stale

FACTS = (
    "name",
    "address",
    "zone",
    "latitude",
    "longitude",
    "handover_on",
    "weight",
    "opens_on",
    "access",
    "is_open",
    "closed_from",
    "heating",
    "setpoint_c",
    "heated_from",
    "heat_kw",
    "flame_heater",
    "volume_m3",
    "air_changes_per_h",
    "fire_rated",
    "old_joints",
)


@dataclass(frozen=True, slots=True)
class AreaDays:
    """An area's floor and its own handover, as somebody wants them.

    place: what faults call it. version: of the row they saw.
    """

    place: str
    area: Area
    version: int
    floor: str = ""
    handover_on: date | None = None


@transaction.atomic
def edit_house_facts(
    *,
    house: House,
    version: int,
    facts: Mapping[str, Any],
    areas: Iterable[AreaDays] = (),
    by: User | None,
    now: datetime,
) -> None:
    """Set some of :data:`FACTS` of a house, and days of its areas.

    Raises InputFaults (places: the fact, or ``place-field`` of an area), StaleRowsError, and
    ValidationError for a value that no house may have (see ``models/house.py``).
    """
    areas = list(areas)
    if faults := [*fact_faults(house, facts), *area_faults(facts, areas)]:
        raise InputFaults(faults)
    edit = HouseEdit(house, by, now)
    change = partial(
        edit.change, version=version, values={n: facts[n] for n in FACTS if n in facts}
    )
    all_or_stale(
        [
            partial(change, house, what=Change.What.HOUSE, place=""),
            *(partial(_set_days, edit, days) for days in areas),
        ]
    )


def fact_faults(house: House, facts: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield what does not fit together; facts that are not there are not judged."""
    name, opens_on, handover_on = (facts.get(n) for n in ("name", "opens_on", "handover_on"))
    same = House.objects.filter(company=house.company_id, name=name or "").exclude(pk=house.pk)
    if name and same.exists():
        yield Fault("name", _("There is another house of this name: choose one that differs."))
    yield from position_faults(facts)
    if opens_on and handover_on and opens_on > handover_on:
        yield Fault("opens_on", _("The house opens after its handover: change one of the days."))
    if facts.get("heating") == Heating.HEATED:
        if "setpoint_c" in facts and facts["setpoint_c"] is None:
            yield Fault("setpoint_c", _("Say how warm the house is held."))
    elif facts.get("heated_from") and "heating" in facts:
        yield Fault("heated_from", _("It is not heated: choose heated, or take the day away."))
    if facts.get("closed_from") and facts.get("is_open") is False:
        said = _("It is closed already: tick that it has no windows yet, or take the day away.")
        yield Fault("closed_from", said)


def position_faults(facts: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield that one half of a house's position is missing."""
    given = [name for name in ("latitude", "longitude") if facts.get(name) is not None]
    if len(given) == 1:
        missing = "longitude" if given == ["latitude"] else "latitude"
        yield Fault(missing, _("Latitude and longitude go together: give both or none."))


def area_faults(facts: Mapping[str, Any], areas: Iterable[AreaDays]) -> Iterator[Fault]:
    """Yield the areas that are handed over before their house opens."""
    opens_on = facts.get("opens_on")
    for days in areas:
        if opens_on and days.handover_on and days.handover_on < opens_on:
            said = _("%(area)s is handed over before the house opens: change one of the days.")
            yield Fault(f"{days.place}-handover_on", said % {"area": days.area.name})


def _set_days(edit: HouseEdit, days: AreaDays) -> None:
    edit.change(
        days.area,
        what=Change.What.AREA,
        place=days.area.name,
        version=days.version,
        values={"floor": days.floor, "handover_on": days.handover_on},
    )
