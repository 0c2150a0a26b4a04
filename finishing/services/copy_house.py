"""Making houses of the same type: the same rooms and finish, none of what has happened there."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import Model
from django.utils.translation import gettext as _

from finishing.models import AirSource, Area, Change, Company, House, JointLine, Room, Surface, User
from finishing.services.changes import log_change
from finishing.services.errors import Fault, InputFaults

MOST_COPIES = 20
LONGEST_NAME, LONGEST_ADDRESS = 120, 250
OF_THE_TYPE = (
    "company_id",
    "zone",
    "corner_tool",
    "system_id",
    "volume_m3",
    "air_changes_per_h",
    "fire_rated",
    "old_joints",
)
"""Fields that a house has from its type. Its position, days, hours, heating and shell are its own;
cautions are rather there once too often."""
NOT_OF_THE_TYPE = frozenset({"id", "public_id", "version", "handover_on"})


@dataclass(frozen=True, slots=True)
class HouseCopy:
    """A house to be made."""

    name: str
    address: str = ""


@transaction.atomic
def copy_house(
    *, house: House, copies: Sequence[HouseCopy], handover_on: date, by: User | None, now: datetime
) -> list[House]:
    """Make houses with the areas, rooms, surfaces, joints, systems and levels of another, all or
    none of them. handover_on: of all of them, a day of the copied house's zone.

    Raises InputFaults with all that is wrong (places: see ``copy_faults``).
    """
    company = house.company
    if faults := list(copy_faults(company, copies)):
        raise InputFaults(faults)
    made = [_house_like(house, copy, handover_on) for copy in copies]
    rows = Area.objects.filter(house=house)
    areas = _copies_of(rows, "house", {house.pk: made})
    rooms = _copies_of(Room.objects.filter(area__house=house), "area", areas)
    surfaces = _copies_of(Surface.objects.filter(room__area__house=house), "room", rooms)
    joints = JointLine.objects.filter(surface__room__area__house=house)
    _copies_of(joints, "surface", surfaces)
    for row in made:
        _log(row, house, by, now)
    return made


def copy_faults(company: Company, copies: Sequence[HouseCopy]) -> Iterator[Fault]:
    """Yield what is wrong with the names and addresses of houses to be made, by their places:
    ``copies``, or of one of them ``copies/0/name``."""
    if not copies:
        yield Fault("copies", _("Give a name for each house."))
    if len(copies) > MOST_COPIES:
        said = _("These are %(n)s names: at most %(most)s houses are made at once.")
        yield Fault("copies", said % {"n": len(copies), "most": MOST_COPIES})
        return
    names = [copy.name for copy in copies]
    rows = House.objects.filter(company=company, name__in=names)
    taken = set(rows.values_list("name", flat=True))
    for number, copy in enumerate(copies):
        place, named = f"copies/{number}", {"name": copy.name}
        if copy.name in taken:
            said = _("There is a house called %(name)s already.")
            yield Fault(f"{place}/name", said % named)
        if copy.name in names[:number]:
            yield Fault(f"{place}/name", _("%(name)s is there more than once.") % named)
        yield from _length_faults(copy, place)


def _length_faults(copy: HouseCopy, place: str) -> Iterator[Fault]:
    if not copy.name:
        yield Fault(f"{place}/name", _("It has no name."))
    if len(copy.name) > LONGEST_NAME:
        said = _("The name is too long: at most %(most)s characters.")
        yield Fault(f"{place}/name", said % {"most": LONGEST_NAME})
    if len(copy.address) > LONGEST_ADDRESS:
        said = _("The address is too long: at most %(most)s characters.")
        yield Fault(f"{place}/address", said % {"most": LONGEST_ADDRESS})


def _house_like(house: House, copy: HouseCopy, handover_on: date) -> House:
    own = {"name": copy.name, "address": copy.address, "handover_on": handover_on}
    row = House(**{name: getattr(house, name) for name in OF_THE_TYPE}, **own)
    source = house.air_source
    if source and source.kind == AirSource.Kind.STATION:  # a logger stands in one house
        row.air_source = source
    row.full_clean()
    row.save()
    return row


def _copies_of[R: Model](
    rows: Iterable[R], parent: str, parents: dict[int, list[Any]]
) -> dict[int, list[R]]:
    """Store a copy of each row under each copy of its parent, all at once, and return them by the
    row they are of. They were in order when the first of them was stored."""
    copies = {
        row.pk: [_copy(row, parent, one) for one in parents[getattr(row, f"{parent}_id")]]
        for row in rows
    }
    every = [one for several in copies.values() for one in several]
    if every:
        type(every[0])._default_manager.bulk_create(every)
    return copies


def _copy[R: Model](row: R, parent: str, under: Model) -> R:
    fields = [field for field in row._meta.concrete_fields if field.name not in NOT_OF_THE_TYPE]
    values = {field.attname: getattr(row, field.attname) for field in fields}
    return type(row)(**{**values, f"{parent}_id": under.pk})


def _log(row: House, house: House, by: User | None, now: datetime) -> None:
    log_change(
        of=row,
        by=by,
        now=now,
        kind=Change.Kind.MADE,
        what=Change.What.HOUSE,
        after={"name": row.name, "handover_on": row.handover_on, "copy_of": house},
    )
