"""Calendars on other servers: made, and asked to be brought up to date."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet

from finishing.models import Company, Deed, User
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import change_row
from finishing.services.sealed import seal
from scheduling.models import CalendarPush, FeedLink, Outgoing, Publication
from scheduling.services.addresses import address_faults, host_of
from scheduling.services.endpoints import note_sending
from scheduling.services.outbox import put_out
from scheduling.timezones import pinned_zone

LONGEST_PASSWORD = 200


def push_faults(*, company: Company, address: str) -> Iterator[Fault]:
    """Yield what is wrong with the address of a new collection, as codes for wording."""
    for code in address_faults(address, settings.CALDAV_HOSTS):
        yield Fault("address", code)
    if CalendarPush.objects.filter(company=company, address=address).exists():
        yield Fault("address", "address_taken")


@transaction.atomic
def add_push(
    *,
    link: FeedLink,
    address: str,
    username: str,
    password: str,
    now: datetime,
    by: User | None = None,
) -> CalendarPush:
    """Make a push of what a feed shows, and have it filled. Raises InputFaults, with codes."""
    if faults := list(push_faults(company=link.company, address=address)):
        raise InputFaults(faults)
    push = CalendarPush(
        company=link.company,
        link=link,
        address=address,
        username=username,
        password=seal(password) if password else "",
        made_at=now,
    )
    push.full_clean()
    push.save()
    put_out([push_row(push, key="start", now=now)])
    note_sending(push, Deed.Code.SENDING_BEGUN, by=by, now=now)
    return push


@transaction.atomic
def edit_sign_in(
    *,
    push: CalendarPush,
    version: int,
    now: datetime,
    username: str | None = None,
    password: str | None = None,
) -> None:
    """Change how a calendar server is signed in to, and have the collection brought up to date,
    unless it is switched off; None: that stays. Raises StaleRowsError where the push has another
    version by now."""
    values: dict[str, str] = {}
    if username is not None:
        values["username"] = username
    if password is not None:
        values["password"] = seal(password) if password else ""
    if change_row(push, version=version, values=values) and push.off_at is None:
        put_out([push_row(push, key=f"sign-in:{push.version}", now=now)])


@transaction.atomic
def empty_push(*, push: CalendarPush, version: int, now: datetime, by: User | None = None) -> None:
    """Have what was put into a collection taken out of it, and then the push removed; asked again,
    where that did not succeed, from the first attempt.

    Raises StaleRowsError where the push has another version by now.
    """
    change_row(push, version=version, values={"ending_at": now, "off_at": None, "off_why": ""})
    put_out([push_row(push, key=f"end:{push.version}", now=now)])
    note_sending(push, Deed.Code.SENDING_REMOVED, by=by, now=now, why="emptied")


@transaction.atomic
def end_push(*, push: CalendarPush, row: Outgoing) -> None:
    """Remove a push whose entries have been taken out; the row that did it stays, to be read."""
    Outgoing.objects.filter(pk=row.pk).update(calendar=None)
    CalendarPush.objects.filter(pk=push.pk).delete()


def push_row(push: CalendarPush, *, key: str, now: datetime) -> Outgoing:
    """Return what brings a collection up to date; it pushes what is there when it is sent."""
    return Outgoing(
        company_id=push.company_id,
        kind=Outgoing.Kind.CALENDAR,
        key=f"calendar:{push.pk}:{key}",
        recipient=host_of(push.address)[:254],
        calendar=push,
        created_at=now,
        due_at=now,
    )


def published_pushes(publication: Publication) -> Iterator[Outgoing]:
    """Yield a row for each collection of the company's that is switched on."""
    for push in _lasting().filter(company=publication.company_id):
        row = push_row(push, key=str(publication.revision), now=publication.published_at)
        row.publication = publication
        yield row


def push_for_the_day(*, now: datetime) -> None:
    """Have every collection brought up to date once on each local day: what a feed shows moves
    along with the days. Called as often as one likes."""
    pushes = _lasting().filter(link__revoked_at=None)
    links = pushes.select_related("link__crew", "link__house", "link__company")
    rows = [push_row(push, key=f"day:{_day(push, now)}", now=now) for push in links]
    put_out(_not_written(rows))


def _lasting() -> QuerySet[CalendarPush]:
    return CalendarPush.objects.filter(off_at=None, ending_at=None)


def _day(push: CalendarPush, now: datetime) -> str:
    return now.astimezone(pinned_zone(push.link.zone)).date().isoformat()


def _not_written(rows: list[Outgoing]) -> Iterable[Outgoing]:
    keys = [row.key for row in rows]
    written = set(Outgoing.objects.filter(key__in=keys).values_list("key", flat=True))
    return [row for row in rows if row.key not in written]
