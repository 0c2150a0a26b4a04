"""Who is at which published visit, so that a person's calendar follows them through loans."""

from collections.abc import Iterator
from datetime import datetime

from finishing.models import Company
from finishing.queries.crews import crews_for_planning
from scheduling.models import Visit, VisitPerson
from scheduling.services.calendars import members_present
from scheduling.timezones import pinned_zone

FIELDS = ("sequence", "version", "modified_at", "cancelled_at", "visit_sequence")


def tell_people(*, company: Company, now: datetime) -> None:
    """Note who is at each visit that is not over, and touch the entries of those for whom that is
    another than before. Call it in the transaction that changes the visits."""
    visits = list(Visit.objects.filter(company=company, ends_at__gt=now))
    rows = {(row.visit_id, row.person): row for row in VisitPerson.objects.filter(visit__in=visits)}
    wanted = set(_wanted(company, visits))
    by_id = {visit.pk: visit for visit in visits}
    changed = []
    for key, row in rows.items():
        visit = by_id[row.visit_id]
        is_there, was_there = key in wanted, row.cancelled_at is None
        if is_there != was_there or row.visit_sequence != visit.sequence:
            row.touch(max(now, visit.modified_at))  # what is cancelled says what the visit says
            row.cancelled_at = None if is_there else row.cancelled_at or row.modified_at
            row.visit_sequence = visit.sequence
            changed.append(row)
    VisitPerson.objects.bulk_update(changed, FIELDS)
    VisitPerson.objects.bulk_create(
        _new(by_id[visit_id], person, now) for visit_id, person in sorted(wanted - rows.keys())
    )


def _wanted(company: Company, visits: list[Visit]) -> Iterator[tuple[int, str]]:
    """Yield visits (primary keys) with the names of those who are there."""
    crews = {crew.pk: crew for crew in crews_for_planning(company)}
    for visit in visits:
        if visit.cancelled_at is None:
            crew = crews[visit.crew_id]
            day = visit.starts_at.astimezone(pinned_zone(crew.zone)).date()
            for member in members_present(crew, day):
                yield visit.pk, member.name


def _new(visit: Visit, person: str, now: datetime) -> VisitPerson:
    return VisitPerson(
        company_id=visit.company_id,
        visit=visit,
        person=person,
        visit_sequence=visit.sequence,
        created_at=now,
        modified_at=max(now, visit.modified_at),
    )
