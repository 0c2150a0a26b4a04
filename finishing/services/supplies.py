"""Editing what a company buys beside compounds, and what of all material is there."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, StockLine, Supply
from finishing.models.supply import LIMITS
from finishing.services.errors import Fault, InputFaults, faults_of_row
from finishing.services.rows import change_row, remove_row

SUPPLY_FIELDS = ("kind", "name", "packs", "pack_prices", "awaited", *LIMITS)
COUNT = ("compound", "supply", "pack_size", "packs")
STOCK_FIELDS = ("compound", "supply", "pack_size", "packs", "arrives_on", "counted_on")


@transaction.atomic
def save_supply(
    *, company: Company, supply: Supply | None, version: int, values: Mapping[str, Any]
) -> Supply:
    """Make a supply, or change the one that was looked at in this version.

    values: :data:`SUPPLY_FIELDS`. Raises InputFaults and StaleRowsError.
    """
    return _save(Supply, company, supply, version, values)


def supply_faults(
    company: Company, supply: Supply | None, values: Mapping[str, Any]
) -> Iterator[Fault]:
    """Yield what does not fit together in the values of a supply; None: of a new one."""
    others = Supply.objects.filter(company=company, kind=values.get("kind", ""))
    if supply:
        others = others.exclude(pk=supply.pk)
    if others.exists():
        yield Fault("kind", _("There is one of this kind: add its pack sizes to that one."))
    yield from _clean_faults(Supply(company=company, **values))


@transaction.atomic
def save_stock(
    *,
    company: Company,
    line: StockLine | None,
    version: int,
    values: Mapping[str, Any],
    today: date,
) -> StockLine:
    """Make a line of what is there or on its way, or change the one that was looked at.

    values: :data:`STOCK_FIELDS`; without the day of counting, what is new or of which the packs
    are changed was counted today. Raises InputFaults and StaleRowsError.
    """
    if faults := list(_day_faults(values, today)):
        raise InputFaults(faults)
    counted_on = values.get("counted_on") or _counted_on(line, values, today)
    return _save(StockLine, company, line, version, {**values, "counted_on": counted_on})


def stock_faults(company: Company, values: Mapping[str, Any], today: date) -> Iterator[Fault]:
    """Yield what does not fit together in the values of a line of stock."""
    yield from _clean_faults(StockLine(company=company, **values))
    yield from _day_faults(values, today)


def _day_faults(values: Mapping[str, Any], today: date) -> Iterator[Fault]:
    if (day := values.get("counted_on")) and day > today:
        yield Fault("counted_on", _("Nobody can have counted after today."))


def _counted_on(line: StockLine | None, values: Mapping[str, Any], today: date) -> date | None:
    """Return when packs were counted of which nobody says it."""
    if line and all(values.get(name, getattr(line, name)) == getattr(line, name) for name in COUNT):
        return line.counted_on
    return today


@transaction.atomic
def remove_material(*, row: Supply | StockLine, version: int) -> None:
    """Delete a supply (its stock goes with it) or a line of stock; raises StaleRowsError."""
    remove_row(row, version=version)


def _save[R: (Supply, StockLine)](
    model: type[R], company: Company, row: R | None, version: int, values: Mapping[str, Any]
) -> R:
    try:
        if row:
            change_row(row, version=version, values=values)
            return row
        row = model(company=company, **values)
        row.full_clean()
        row.save()
    except ValidationError as error:
        raise InputFaults(faults_of_row(error)) from None
    return row


def _clean_faults(row: Supply | StockLine) -> Iterator[Fault]:
    try:
        row.clean()
    except ValidationError as error:
        yield from faults_of_row(error)
