"""What has happened in a house, from all rows that tell of it."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from enum import StrEnum
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import CharField, F, Q, QuerySet, Value

from finishing.models import Change, Company, House, Note, OddJob, Room
from scheduling.models import ExtraWork, HouseRevision, Obstacle, Report, Visit

TOLD_ALONE = (Report.Kind.NOT_DRY, Report.Kind.NOT_DONE, Report.Kind.LEFT)
"""Reports with a line of their own; that work has started or is done stands with its visit."""

type Place = tuple[datetime, str, int]
"""Of a row that tells of a house: when, its source and its primary key."""
type Index = QuerySet[Any, Place]


class Source(StrEnum):
    """Which kind of row tells of it."""

    VISIT = "visit"
    REPORT = "report"
    OBSTACLE = "obstacle"
    EXTRA_WORK = "extra_work"
    NOTE = "note"
    EDIT = "edit"
    REVISION = "revision"


def work_in(company: Company, house: House) -> dict[str, str]:
    """Return the names of a house's rooms, with their areas, and of its odd jobs, in two queries.

    By the public id with which the keys of their work begin (see ``Report.key``).
    """
    rooms = Room.objects.filter(company=company, area__house=house)
    jobs = OddJob.objects.filter(company=company, house=house)
    by_id = rooms.values_list("public_id", "area__name", "name")
    named = {str(key): f"{area}, {room}" for key, area, room in by_id}
    return {**named, **{str(key): name for key, name in jobs.values_list("public_id", "name")}}


def rows_of(
    company: Company, house: House, work: Iterable[str], now: datetime
) -> dict[Source, QuerySet[Any]]:
    """Return by source the rows that tell of a house; work: the ids of :func:`work_in`."""
    mine: dict[str, Any] = {"company": company, "house": house}
    reports = Report.objects.filter(_key_begins_with(work), company=company)
    return {
        Source.VISIT: Visit.objects.filter(**mine, cancelled_at=None, ends_at__lte=now),
        Source.REPORT: reports.filter(kind__in=TOLD_ALONE, at__lte=now),
        Source.OBSTACLE: Obstacle.objects.filter(**mine),
        Source.EXTRA_WORK: ExtraWork.objects.filter(**mine),
        Source.NOTE: Note.objects.filter(**mine),
        Source.EDIT: Change.objects.filter(**mine),
        Source.REVISION: HouseRevision.objects.filter(**mine),
    }


def newest_first(rows: Mapping[Source, QuerySet[Any]], after: Place | None = None) -> Index:
    """Return all rows, or those that come after a place, as one query, which can be cut into
    pages."""
    cut = {source: _after(source, found, after) for source, found in rows.items()}
    first, *others = [_index(source, found) for source, found in cut.items()]
    return first.union(*others, all=True).order_by("-when", "source", "-pk")


def _after(source: Source, rows: QuerySet[Any], place: Place | None) -> QuerySet[Any]:
    """Cut off what stands before a place, and at it, in the order of ``newest_first``."""
    if place is None:
        return rows
    at, its_source, pk = place
    when = _when(source)
    older = Q(**{f"{when}__lt": at})
    if source == its_source:
        older |= Q(**{when: at}, pk__lt=pk)
    elif source > its_source:
        older |= Q(**{when: at})
    return rows.filter(older)


def _index(source: Source, rows: QuerySet[Any]) -> Index:
    named = Value(source.value, output_field=CharField())
    found: Index = (
        rows.order_by()
        .annotate(when=F(_when(source)), source=named)
        .values_list("when", "source", "pk")
    )
    return found


def _when(source: Source) -> str:
    return "ends_at" if source is Source.VISIT else "at"


def _key_begins_with(ids: Iterable[str]) -> Q:
    return reduce(or_, (Q(key__startswith=f"{one}:") for one in ids), Q(pk__in=[]))
