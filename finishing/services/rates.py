"""Editing what a company takes its work to need: its own labour rates in place of defaults."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, LabourRate
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import StaleRowsError, all_or_stale, change_row, remove_row

type RateKey = tuple[str, str]


@dataclass(frozen=True, slots=True)
class RateLine:
    """A rate as somebody wants it; minutes (person-minutes per unit) None for the default.

    place: what faults call the line. version: of the row they saw, 0 where there was none.
    """

    place: str
    stage: str
    kind: str
    minutes: float | None = None
    source: str = ""
    dated: date | None = None
    version: int = 0

    def values(self) -> dict[str, Any]:
        """Return what is stored of it."""
        return {"minutes": self.minutes, "source": self.source, "dated": self.dated}

    def row(self, company: Company) -> LabourRate:
        """Return a new row of it."""
        return LabourRate(company=company, stage=self.stage, kind=self.kind, **self.values())


def own_rates(company: Company) -> dict[RateKey, LabourRate]:
    """Return the rates that a company has of its own, by stage and kind."""
    rows = LabourRate.objects.filter(company=company)
    return {(row.stage, row.kind): row for row in rows}


@transaction.atomic
def edit_rates(*, company: Company, lines: Sequence[RateLine]) -> None:
    """Set rates, or give them back their defaults; those that no line names stay.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    if faults := list(rate_faults(company, lines)):
        raise InputFaults(faults)
    rows = own_rates(company)
    all_or_stale(
        [
            partial(_bring_in_line, company, line, rows.get((line.stage, line.kind)))
            for line in lines
        ]
    )


def rate_faults(company: Company, lines: Iterable[RateLine]) -> Iterator[Fault]:
    """Yield all that no rate may be: where it comes from and when belong to each."""
    for line in lines:
        if line.minutes is None:
            continue
        if not line.source:
            yield Fault(f"{line.place}-source", _("Say where the figure comes from."))
        if line.dated is None:
            yield Fault(f"{line.place}-dated", _("Say since when it holds."))
        try:
            line.row(company).clean()
        except ValidationError as error:
            for name, texts in error.message_dict.items():
                yield from (Fault(f"{line.place}-{name}", text) for text in texts)


def _bring_in_line(company: Company, line: RateLine, row: LabourRate | None) -> None:
    if row is None:
        _make(company, line)
    elif line.minutes is None:
        remove_row(row, version=line.version)
    else:
        change_row(row, version=line.version, values=line.values())


def _make(company: Company, line: RateLine) -> None:
    if line.minutes is None:
        return  # the default, which it had before
    if line.version:
        raise StaleRowsError([], gone=1)
    row = line.row(company)
    row.full_clean()
    row.save()
