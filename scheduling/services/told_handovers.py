"""Handovers as calendars tell of them: the day due, and what is said of it."""

from collections.abc import Iterable
from datetime import UTC, date, datetime

from finishing.models import Company, House
from scheduling.models import Plan, ToldHandover
from scheduling.services.visit_matching import Work, match_work
from scheduling.wording import Codes

FIELDS = ("sequence", "version", "modified_at", "cancelled_at", "due_on", "content", "areas")
SAID = ("house", "areas", "due_on", "state", "met_at", "late_minutes")

ALWAYS = datetime.min.replace(tzinfo=UTC)
"""Which of two handovers is earlier says nothing of which is which."""


def tell_handovers(*, company: Company, plan: Plan | None, now: datetime) -> None:
    """Note the handovers of the plan that is published, None for no plan, and touch the entries of
    those of which something is said anew. One that is over stays as it was told."""
    houses = {str(row.public_id): row for row in House.objects.filter(company=company)}
    said = [row for row in (plan.handovers if plan else ()) if row["house_id"] in houses]
    rows = ToldHandover.objects.filter(company=company).select_related("house")
    pairs, gone, new = match_work(
        [_work(row, str(row.house.public_id), row.areas) for row in rows],
        [_work(one, one["house_id"], one["areas"]) for one in said],
    )
    changed = [row for row, one in pairs if _says(row, one, now)]
    changed += [row for row in gone if _is_called_off(row, now)]
    ToldHandover.objects.bulk_update(changed, FIELDS)
    ToldHandover.objects.bulk_create(
        ToldHandover(
            company=company,
            house=houses[one["house_id"]],
            areas=one["areas"],
            due_on=date.fromisoformat(one["due_on"]),
            content=_content(one),
            created_at=now,
            modified_at=now,
        )
        for one in new
    )


def _work[T](item: T, house_id: str, areas: Iterable[str]) -> Work[T]:
    """Return a handover as matching sees it: of the same house, most areas shared."""
    return Work(item, house_id, ALWAYS, {"": 1, **dict.fromkeys(areas, 2)})


def _says(row: ToldHandover, said: Codes, now: datetime) -> bool:
    """Bring a row up to what is said now, and return whether that is another than before."""
    if row.cancelled_at is None and row.content == _content(said):
        return False
    row.touch(now)
    row.cancelled_at, row.content, row.areas = None, _content(said), said["areas"]
    row.due_on = date.fromisoformat(said["due_on"])
    return True


def _is_called_off(row: ToldHandover, now: datetime) -> bool:
    """Cancel a handover to come that is none any more, and return whether it was one."""
    if row.cancelled_at is not None or row.due_on < now.date():
        return False
    row.touch(now)
    row.cancelled_at = row.modified_at
    return True


def _content(said: Codes) -> dict[str, object]:
    return {name: said.get(name) for name in SAID}
