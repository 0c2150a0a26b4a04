"""One area of a house added, edited, moved or removed; the others stay in their order."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Area, House, Room, User
from finishing.services.areas import AREA_FIELDS, AreaEdit, put_areas
from finishing.services.errors import Fault, InputFaults
from finishing.services.house_facts import AreaDays, edit_house_facts


@transaction.atomic
def add_area(*, house: House, values: Mapping[str, Any], by: User | None, now: datetime) -> Area:
    """Add an area; values: ``name``, and as in :func:`edit_area`. It is the last one where they
    say no position. Raises InputFaults (places: ``-name``, ``-handover_on``)."""
    others = [_as_it_is(area) for area in house.areas.all()]
    at = values.get("position", len(others))
    new = AreaEdit("", values["name"], values.get("floor", ""), values.get("system"))
    _put(house, [*others[:at], new, *others[at:]], by, now)
    area = Area.objects.get(house=house, name=values["name"])
    _set_handover(area, values.get("handover_on"), by, now)
    return area


@transaction.atomic
def edit_area(
    *, area: Area, version: int, values: Mapping[str, Any], by: User | None, now: datetime
) -> None:
    """Set some of ``name``, ``floor``, ``system``, ``handover_on`` and ``position`` (from 0).

    Raises InputFaults (places: ``-name``, ``-handover_on``) and StaleRowsError.
    """
    others = [_as_it_is(one) for one in area.house.areas.exclude(pk=area.pk)]
    said = {name: values.get(name, getattr(area, name)) for name in AREA_FIELDS}
    at = values.get("position", _place_of(area))
    wanted = AreaEdit("", **said, area=area, version=version)
    _put(area.house, [*others[:at], wanted, *others[at:]], by, now)
    if "handover_on" in values:
        _set_handover(area, values["handover_on"], by, now)


@transaction.atomic
def remove_area(*, area: Area, version: int, by: User | None, now: datetime) -> None:
    """Remove an area without rooms. Raises InputFaults where it has some, and StaleRowsError."""
    if Room.objects.filter(company=area.company_id, area=area).exists():
        raise InputFaults([Fault("", _("It has rooms: remove them first."))])
    others = [_as_it_is(one) for one in area.house.areas.exclude(pk=area.pk)]
    going = AreaEdit("", area.name, area=area, version=version, removed=True)
    _put(area.house, [*others, going], by, now)


def _put(house: House, areas: list[AreaEdit], by: User | None, now: datetime) -> None:
    put_areas(house=house, version=house.version, jointing={}, areas=areas, by=by, now=now)


def _set_handover(area: Area, day: date | None, by: User | None, now: datetime) -> None:
    house = area.house
    days = AreaDays("", area, area.version, area.floor, day)
    facts = {"opens_on": house.opens_on}
    edit_house_facts(house=house, version=house.version, facts=facts, areas=[days], by=by, now=now)


def _place_of(area: Area) -> int:
    return [one.pk for one in area.house.areas.all()].index(area.pk)


def _as_it_is(area: Area) -> AreaEdit:
    return AreaEdit("", area.name, area.floor, area.system, area, area.version)
