"""Counting the store: several lines of what is there or on its way, all of them or none."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import Any

from django.db import transaction

from finishing.models import Company, Compound, StockLine, Supply
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import all_or_stale
from finishing.services.supplies import remove_material, save_stock, stock_faults


@dataclass(frozen=True, slots=True)
class StockEdit:
    """A line as somebody wants it. place: what faults call it. row, version: the one they saw."""

    place: str
    row: StockLine | None
    of: Compound | Supply | None
    pack_size: float | None
    packs: int | None
    arrives_on: date | None
    counted_on: date | None = None
    version: int = 0
    remove: bool = False

    def values(self) -> dict[str, Any]:
        """Return what is stored of it."""
        return {
            "compound": self.of if isinstance(self.of, Compound) else None,
            "supply": self.of if isinstance(self.of, Supply) else None,
            "pack_size": self.pack_size,
            "packs": self.packs,
            "arrives_on": self.arrives_on,
            "counted_on": self.counted_on,
        }


def stock_edit_faults(company: Company, lines: Iterable[StockEdit], today: date) -> Iterator[Fault]:
    """Yield what no line may be (places: ``place-field``)."""
    for line in lines:
        for fault in () if line.remove else stock_faults(company, line.values(), today):
            name = "what" if fault.place == "compound" else fault.place
            yield replace(fault, place=f"{line.place}-{name}")


@transaction.atomic
def edit_stock(*, company: Company, lines: Sequence[StockEdit], today: date) -> None:
    """Add, change and remove lines; those that no line names stay. today: the company's.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    if faults := list(stock_edit_faults(company, lines, today)):
        raise InputFaults(faults)
    all_or_stale([partial(_bring_in, company, line, today) for line in lines])


def _bring_in(company: Company, line: StockEdit, today: date) -> None:
    if line.remove:
        if line.row:
            remove_material(row=line.row, version=line.version)
    else:
        save_stock(
            company=company,
            line=line.row,
            version=line.version,
            values=line.values(),
            today=today,
        )
