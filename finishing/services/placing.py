"""Editing how fast a company's people put compound on, in place of the rules' assumptions."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, PlacingRate
from finishing.models.rate import PLACING_LIMITS
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import StaleRowsError, all_or_stale, change_row, remove_row


@dataclass(frozen=True, slots=True)
class PlacingLine:
    """A rate as somebody wants it; litres_per_hour None for the default.

    place: what faults call the line. version: of the row they saw, 0 where there was none.
    """

    place: str
    stage: str
    litres_per_hour: float | None = None
    source: str = ""
    dated: date | None = None
    version: int = 0

    def values(self) -> dict[str, Any]:
        """Return what is stored of it."""
        return {
            "litres_per_hour": self.litres_per_hour,
            "source": self.source,
            "dated": self.dated,
        }


def own_placing(company: Company) -> dict[str, PlacingRate]:
    """Return the placing rates that a company has of its own, by stage."""
    return {row.stage: row for row in PlacingRate.objects.filter(company=company)}


@transaction.atomic
def edit_placing(*, company: Company, lines: Sequence[PlacingLine]) -> None:
    """Set placing rates, or give them back their defaults; those that no line names stay.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    if faults := list(placing_faults(lines)):
        raise InputFaults(faults)
    rows = own_placing(company)
    all_or_stale([partial(_bring_in, company, line, rows.get(line.stage)) for line in lines])


def placing_faults(lines: Iterable[PlacingLine]) -> Iterator[Fault]:
    """Yield all that no rate may be: where it comes from and when belong to each."""
    least, most = PLACING_LIMITS
    for line in lines:
        if line.litres_per_hour is None:
            continue
        if not line.source:
            yield Fault(f"{line.place}-source", _("Say where the figure comes from."))
        if line.dated is None:
            yield Fault(f"{line.place}-dated", _("Say since when it holds."))
        if not least <= line.litres_per_hour <= most:
            said = _("Must be from %(least)s to %(most)s.") % {"least": least, "most": most}
            yield Fault(f"{line.place}-litres_per_hour", said)


def _bring_in(company: Company, line: PlacingLine, row: PlacingRate | None) -> None:
    if row is not None:
        if line.litres_per_hour is None:
            remove_row(row, version=line.version)
        else:
            change_row(row, version=line.version, values=line.values())
    elif line.litres_per_hour is not None:
        if line.version:
            raise StaleRowsError([], gone=1)
        row = PlacingRate(company=company, stage=line.stage, **line.values())
        row.full_clean()
        row.save()
