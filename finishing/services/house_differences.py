"""What an import did to houses that were there, as their history tells it."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any, NamedTuple

from finishing.models import Area, Change, Company, House, User
from finishing.rules.vocabulary import JointKind
from finishing.services import coats_done, odd_jobs, readiness
from finishing.services.changes import log_change, values_of
from finishing.services.houses import HOUSE_FIELDS, ROOM_FIELDS, SURFACE_FIELDS

type Values = Mapping[str, Any]
What = Change.What

AREA_FIELDS = ("name", "floor", "handover_on", "system")
CLOSURE_FIELDS = ("first_day", "last_day", "reason")
PATHS = (
    "areas__system",
    "areas__rooms__surfaces__joints",
    "areas__closures",
    "areas__coat_done__compound",
    "readiness",
    "odd_jobs",
)


class Part(NamedTuple):
    """A part of a house. path: the names that lead to it, as of an area and a room of it; key:
    what tells it from another of that path."""

    what: Change.What
    path: tuple[str, ...] = ()
    key: str = ""


def house_parts(company: Company) -> dict[str, dict[Part, Values]]:
    """Return by name of house the values of all its parts, in a fixed number of queries."""
    rows = House.objects.filter(company=company).select_related("system", "air_source")
    return {house.name: dict(_parts(house)) for house in rows.prefetch_related(*PATHS)}


def log_houses(
    company: Company,
    names: Iterable[str],
    before: Mapping[str, Mapping[Part, Values]],
    *,
    by: User | None,
    now: datetime,
) -> dict[str, list[Change]]:
    """Log what differs of the houses of these names, and return it by name."""
    after = house_parts(company)
    rows = {house.name: house for house in House.objects.filter(company=company)}
    return {
        name: _log_house(rows[name], before.get(name, {}), after[name], by, now) for name in names
    }


def _log_house(
    house: House,
    before: Mapping[Part, Values],
    after: Mapping[Part, Values],
    by: User | None,
    now: datetime,
) -> list[Change]:
    """Log each part that differs; of a new house only that it was made, and of an area or room
    that goes not what goes with it."""
    if not before:
        after = {part: values for part, values in after.items() if part.what == What.HOUSE}
    gone = before.keys() - after.keys()
    logged = (
        log_change(
            of=house,
            by=by,
            now=now,
            kind=_kind(before.get(part), after.get(part)),
            what=part.what,
            place=", ".join(part.path),
            before=before.get(part),
            after=after.get(part),
        )
        for part in dict.fromkeys([*before, *after])
        if part not in gone or not gone.intersection(_holders(part))
    )
    return [change for change in logged if change is not None]


def _kind(before: Values | None, after: Values | None) -> Change.Kind:
    if before is None:
        return Change.Kind.MADE
    return Change.Kind.REMOVED if after is None else Change.Kind.CHANGED


def _holders(part: Part) -> set[Part]:
    """Return the area and the room that a part is in."""
    if part.what in {What.READINESS, What.ODD_JOB}:
        return set()
    return {Part(What.AREA, part.path[:1]), Part(What.ROOM, part.path[:2])} - {part}


def _parts(house: House) -> Iterator[tuple[Part, Values]]:
    yield Part(What.HOUSE), values_of(house, ("name", "heating", *HOUSE_FIELDS))
    for line in house.readiness.all():
        yield Part(What.READINESS, (line.item,)), values_of(line, readiness.FIELDS)
    for job in house.odd_jobs.all():
        yield Part(What.ODD_JOB, (job.name,)), values_of(job, odd_jobs.FIELDS)
    for area in house.areas.all():
        yield from _parts_of_area(area)


def _parts_of_area(area: Area) -> Iterator[tuple[Part, Values]]:
    yield Part(What.AREA, (area.name,)), values_of(area, AREA_FIELDS)
    for closure in area.closures.all():
        key = Part(What.CLOSURE, (area.name,), closure.first_day.isoformat())
        yield key, values_of(closure, CLOSURE_FIELDS)
    if hasattr(area, "coat_done"):
        yield Part(What.COAT_DONE, (area.name,)), values_of(area.coat_done, coats_done.FIELDS)
    for room in area.rooms.all():
        path = (area.name, room.name)
        yield Part(What.ROOM, path), values_of(room, ("name", "openings", *ROOM_FIELDS))
        for surface in room.surfaces.all():
            metres = {line.kind: line.metres for line in surface.joints.all()}
            joints = {kind.value: metres.get(kind) for kind in JointKind}
            of_surface = {**values_of(surface, SURFACE_FIELDS), **joints}
            yield Part(What.SURFACE, (*path, surface.part)), of_surface
