"""Starting a house, taking it out of work, and removing one that nothing was done in."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import ProtectedError
from django.utils.translation import gettext as _

from finishing.models import Area, Change, Company, House, Room, User
from finishing.services.errors import Fault, InputFaults
from finishing.services.house_edit import HouseEdit
from finishing.services.house_facts import position_faults
from finishing.services.rows import remove_row

NEW_FIELDS = ("name", "zone", "handover_on", "address", "latitude", "longitude")


@transaction.atomic
def start_house(
    *,
    company: Company,
    facts: Mapping[str, Any],
    areas: Sequence[str],
    by: User | None,
    now: datetime,
) -> House:
    """Make a house of ``NEW_FIELDS`` with empty areas of these names.

    Raises InputFaults with all that is wrong, and ValidationError for a value no house may have.
    """
    if faults := [*new_house_faults(company, facts), *new_area_faults(areas)]:
        raise InputFaults(faults)
    house = House(company=company, **{name: facts[name] for name in NEW_FIELDS if name in facts})
    house.full_clean()
    house.save()
    edit = HouseEdit(house, by, now)
    edit.log_made(Change.What.HOUSE, "", house, NEW_FIELDS)
    for position, name in enumerate(areas):
        area = Area(company=company, house=house, name=name, position=position)
        edit.make(area, what=Change.What.AREA, place=name, names=("name",))
    return house


def new_house_faults(company: Company, facts: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield what is wrong with a new house's name and position."""
    if House.objects.filter(company=company, name=facts.get("name") or "").exists():
        yield Fault("name", _("There is another house of this name: choose one that differs."))
    yield from position_faults(facts)


def new_area_faults(names: Iterable[str]) -> Iterator[Fault]:
    """Yield what is wrong with the names of a new house's areas."""
    seen: set[str] = set()
    for name in names:
        if len(name) > 120:
            yield Fault("areas", _("An area's name has at most 120 characters."))
        if name in seen:
            yield Fault("areas", _("%(name)s is there more than once.") % {"name": name})
        seen.add(name)


@transaction.atomic
def set_house_active(
    *, house: House, version: int, is_active: bool, by: User | None, now: datetime
) -> None:
    """Take a house out of work or back into it: plans made from now on know no other than those
    in work. Raises StaleRowsError."""
    values = {"is_active": is_active}
    edit = HouseEdit(house, by, now)
    edit.change(house, what=Change.What.HOUSE, place="", version=version, values=values)


@transaction.atomic
def remove_house(*, house: House, version: int) -> None:
    """Remove a house without rooms, of which no plan, visit or report says anything.

    Raises StaleRowsError, and InputFaults where there is more to it than that.
    """
    if Room.objects.filter(company=house.company_id, area__house=house).exists():
        raise InputFaults([Fault("", _("It has rooms: remove them first, or set it inactive."))])
    try:
        with transaction.atomic():
            remove_row(house, version=version)
    except ProtectedError:
        said = _("Plans or reports know this house: set it inactive instead.")
        raise InputFaults([Fault("", said)]) from None
