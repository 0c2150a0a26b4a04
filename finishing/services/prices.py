"""Editing what a company's hours, ways and late days cost."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, Crew, House, Price
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import StaleRowsError, all_or_stale, claim_row

FIELDS = ("kind", "amount", "since", "crew", "house")


@dataclass(frozen=True, slots=True)
class PriceLine:
    """A price as somebody wants it; amount in minor units, crew or house: whose, None for all.

    place: what faults call the line. public_id, version: of the row they saw, none for a new one.
    """

    place: str
    kind: str
    amount: int
    since: date
    crew: Crew | None = None
    house: House | None = None
    public_id: UUID | None = None
    version: int = 0
    remove: bool = False

    def row(self, company: Company) -> Price:
        """Return a new row of it."""
        return Price(company=company, **{name: getattr(self, name) for name in FIELDS})


@transaction.atomic
def edit_prices(*, company: Company, lines: Sequence[PriceLine]) -> None:
    """Add, change and remove prices; those that no line names stay.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    rows = {row.public_id: row for row in Price.objects.filter(company=company)}
    if faults := list(price_faults(company, lines, rows.values())):
        raise InputFaults(faults)
    seen = [(line, rows.get(line.public_id)) for line in lines if line.public_id]
    all_or_stale([partial(_clear_or_claim, line, row) for line, row in seen])
    for line in lines:
        if not line.remove:
            _put(company, line, rows.get(line.public_id) if line.public_id else None)


def price_faults(
    company: Company, lines: Sequence[PriceLine], rows: Iterable[Price]
) -> Iterator[Fault]:
    """Yield what no price may be, and each line whose kind, owner and day another one has.

    rows: the company's stored prices; of one that a line names, the line counts.
    """
    named = {line.public_id for line in lines}
    times = Counter(_place_in_time(row) for row in rows if row.public_id not in named)
    for line in lines:
        if line.remove:
            continue
        row = line.row(company)
        times[_place_in_time(row)] += 1
        if times[_place_in_time(row)] == 2:
            said = _("There is a price of this from that day on already: change that line.")
            yield Fault(f"{line.place}-since", said)
        yield from _faults_of(line, row)


def _faults_of(line: PriceLine, row: Price) -> Iterator[Fault]:
    try:
        row.clean()
    except ValidationError as error:
        for name, texts in error.message_dict.items():
            yield from (Fault(f"{line.place}-{name}", text) for text in texts)


def _place_in_time(row: Price) -> tuple[Any, ...]:
    return row.kind, row.crew_id, row.house_id, row.since


def _clear_or_claim(line: PriceLine, row: Price | None) -> None:
    """Take a row that is to go or to change out of the way, so that two may swap their days."""
    if row is None:
        raise StaleRowsError([], gone=1)
    if line.remove or _differs(line, row):
        claim_row(row, version=line.version)
        row.delete()


def _put(company: Company, line: PriceLine, row: Price | None) -> None:
    """Store a line that is new, or other than its row was, which keeps its id."""
    if row is not None and not _differs(line, row):
        return
    new = line.row(company)
    if row is not None:
        new.public_id, new.version = row.public_id, line.version + 1
    new.full_clean()
    new.save()


def _differs(line: PriceLine, row: Price) -> bool:
    return any(getattr(line, name) != getattr(row, name) for name in FIELDS)
