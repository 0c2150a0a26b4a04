"""Logging edits of what a company plans with besides its houses, whichever service makes them."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime

from django.db import transaction

from finishing.models import Change, Company, User
from finishing.services.changes import log_change
from finishing.services.company_parts import Part, parts_of

What = Change.What
Kind = Change.Kind
OF_CREWS = (
    What.CREW,
    What.MEMBER,
    What.CREW_HOURS,
    What.DAY_OFF,
    What.EXTRA_HOURS,
    What.LOAN,
)
type Parts = dict[tuple[Change.What, str], Part]


@contextmanager
def logged(
    company: Company, what: Iterable[Change.What], *, by: User | None, now: datetime
) -> Iterator[None]:
    """Log what of these kinds differs after the block, in one transaction with it.

    by: None where a command does it.
    """
    kinds = tuple(what)
    with transaction.atomic():
        before = _parts(company, kinds)
        yield
        after = _parts(company, kinds)
        for key in dict.fromkeys([*before, *after]):
            _log(company, key[0], before.get(key), after.get(key), by=by, now=now)


def _parts(company: Company, kinds: Iterable[Change.What]) -> Parts:
    return {(what, part.key): part for what in kinds for part in parts_of(company, what)}


def _log(
    company: Company,
    what: Change.What,
    before: Part | None,
    after: Part | None,
    *,
    by: User | None,
    now: datetime,
) -> None:
    shown = after or before
    assert shown is not None
    log_change(
        of=company,
        by=by,
        now=now,
        kind=Kind.CHANGED if before and after else Kind.MADE if after else Kind.REMOVED,
        what=what,
        place=shown.place,
        before=before.values if before else None,
        after=after.values if after else None,
    )
