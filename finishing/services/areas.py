"""A house's areas and its jointing: added, renamed, put in order, removed."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Area, Change, House, JointingSystem, User
from finishing.services.errors import Fault, InputFaults
from finishing.services.house_edit import HouseEdit
from finishing.services.rows import all_or_stale

AREA_FIELDS = ("name", "floor", "system")


@dataclass(frozen=True, slots=True)
class AreaEdit:
    """What an area is to be. place: what faults call it. area: None for a new one."""

    place: str
    name: str
    floor: str = ""
    system: JointingSystem | None = None
    area: Area | None = None
    version: int = 1
    removed: bool = False


@transaction.atomic
def put_areas(
    *,
    house: House,
    version: int,
    jointing: dict[str, Any],
    areas: Sequence[AreaEdit],
    by: User | None,
    now: datetime,
) -> None:
    """Set a house's ``system`` and ``corner_tool`` (jointing) and its areas, in this order.

    Raises StaleRowsError, and InputFaults with all that is wrong.
    """
    if faults := list(area_name_faults(house, areas)):
        raise InputFaults(faults)
    edit = HouseEdit(house, by, now)
    kept = [wanted for wanted in areas if not wanted.removed]
    for wanted in kept:  # so that two may change their names over
        if wanted.area and wanted.area.name != wanted.name:
            as_seen = Area.objects.filter(pk=wanted.area.pk, version=wanted.version)
            as_seen.update(name=str(wanted.area.public_id))
    of_house = partial(edit.change, house, what=Change.What.HOUSE, place="")
    all_or_stale(
        [
            partial(of_house, version=version, values=jointing),
            *(partial(_remove, edit, wanted) for wanted in areas if wanted.removed),
            *(partial(_put, edit, wanted, place) for place, wanted in enumerate(kept)),
        ]
    )


def area_name_faults(house: House, areas: Iterable[AreaEdit]) -> Iterator[Fault]:
    """Yield the areas of which there would be two of one name."""
    listed = list(areas)
    ours = [wanted.area.pk for wanted in listed if wanted.area]
    others = Area.objects.filter(company=house.company_id, house=house).exclude(pk__in=ours)
    taken = set(others.values_list("name", flat=True))
    for wanted in listed:
        if wanted.removed:
            continue
        if wanted.name in taken:
            yield Fault(f"{wanted.place}-name", _("There is another area of this name here."))
        taken.add(wanted.name)


def _put(edit: HouseEdit, wanted: AreaEdit, position: int) -> None:
    values: dict[str, Any] = {name: getattr(wanted, name) for name in AREA_FIELDS}
    what: Any = {"what": Change.What.AREA, "place": wanted.name}
    if wanted.area is None:
        row = Area(company=edit.house.company, house=edit.house, position=position, **values)
        edit.make(row, names=AREA_FIELDS, **what)
    else:
        values["position"] = position
        edit.change(wanted.area, version=wanted.version, values=values, **what)


def _remove(edit: HouseEdit, wanted: AreaEdit) -> None:
    if wanted.area is not None:
        what, place = Change.What.AREA, wanted.area.name
        edit.remove(wanted.area, what=what, place=place, version=wanted.version, names=AREA_FIELDS)
