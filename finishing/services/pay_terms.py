"""Agreeing on pay: adding, changing, ending what crews and people are paid."""

from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, PayTerm
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import all_or_stale, change_row, remove_row

FIELDS = ("crew", "person", "stage", "amount", "since")


@transaction.atomic
def add_pay_term(*, company: Company, values: Mapping[str, Any]) -> PayTerm:
    """Store an agreement (FIELDS); raise InputFaults with all that it cannot be."""
    if faults := list(pay_term_faults(company, values)):
        raise InputFaults(faults)
    row = PayTerm(company=company, **values)
    row.full_clean()
    row.save()
    return row


@transaction.atomic
def change_pay_term(*, row: PayTerm, version: int, values: Mapping[str, Any]) -> None:
    """Change one that was looked at in this version; see :func:`add_pay_term`."""
    said = {name: getattr(row, name) for name in FIELDS} | dict(values)
    if faults := list(pay_term_faults(row.company, said, row)):
        raise InputFaults(faults)
    change_row(row, version=version, values=said)


def remove_pay_terms(rows: Iterable[tuple[PayTerm, int]]) -> None:
    """Remove agreements, each looked at in a version."""
    with transaction.atomic():
        all_or_stale([partial(remove_row, row, version=version) for row, version in rows])


def pay_term_faults(
    company: Company, values: Mapping[str, Any], row: PayTerm | None = None
) -> Iterator[Fault]:
    """Yield what no agreement may be, places being names of fields; row: the one it changes."""
    wanted = PayTerm(company=company, **values)
    try:
        wanted.clean_fields(exclude=["company"])
        wanted.clean()
    except ValidationError as error:
        for name, texts in error.message_dict.items():
            yield from (Fault(name, text) for text in texts)
        return
    same = PayTerm.objects.filter(
        company=company,
        crew=wanted.crew,
        person=wanted.person,
        stage=wanted.stage,
        since=wanted.since,
    )
    if (same.exclude(pk=row.pk) if row else same).exists():
        yield Fault("since", _("There is one of the same from that day on already: change that."))
