"""Lines for a house's builder: extra work with its hours, its rate, and whether it is agreed."""

from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from finishing.models import BuilderLine, House
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import all_or_stale, change_row, remove_row

FIELDS = ("day", "text", "person_minutes", "rate", "agreed_on", "agreed_with")


@transaction.atomic
def add_builder_line(*, house: House, values: Mapping[str, Any]) -> BuilderLine:
    """Store a line (FIELDS) of a house; raise InputFaults with all that it cannot be."""
    if faults := list(builder_line_faults(house, values)):
        raise InputFaults(faults)
    row = BuilderLine(company=house.company, house=house, **values)
    row.full_clean()
    row.save()
    return row


@transaction.atomic
def change_builder_line(*, row: BuilderLine, version: int, values: Mapping[str, Any]) -> None:
    """Change one that was looked at in this version; see :func:`add_builder_line`."""
    said = {name: getattr(row, name) for name in FIELDS} | dict(values)
    if faults := list(builder_line_faults(row.house, said)):
        raise InputFaults(faults)
    change_row(row, version=version, values=said)


def remove_builder_lines(rows: Iterable[tuple[BuilderLine, int]]) -> None:
    """Remove lines, each looked at in a version."""
    with transaction.atomic():
        all_or_stale([partial(remove_row, row, version=version) for row, version in rows])


def builder_line_faults(house: House, values: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield what no line may be, places being names of fields."""
    wanted = BuilderLine(company=house.company, house=house, **values)
    try:
        wanted.full_clean(validate_unique=False, validate_constraints=False)
    except ValidationError as error:
        for name, texts in error.message_dict.items():
            yield from (Fault(name, text) for text in texts)
