"""A company read from a file that ``company_export`` made: whole, or not at all."""

import secrets
from collections.abc import Iterator
from datetime import datetime

from django.contrib.auth.hashers import make_password
from django.core.exceptions import ValidationError
from django.db import DataError, IntegrityError, transaction

from finishing.models import (
    Company,
    Compound,
    CrewHours,
    Dryer,
    LabourRate,
    Price,
    StockLine,
    Supply,
    Surface,
    User,
)
from finishing.models.owned import Row
from finishing.services.errors import Fault, InputFaults, faults_of_row
from finishing.services.sealed import seal
from scheduling.models import Outgoing, Webhook
from scheduling.models.endpoint import Endpoint
from scheduling.services.company_file import kept_models, references
from scheduling.services.company_rows import FileRow, FileRows, rows_of_file
from scheduling.services.webhooks import new_secret

MOST_AT_ONCE = 500
RECKONED_WITH: tuple[type[Row], ...] = (
    Company,
    Compound,
    Supply,
    StockLine,
    LabourRate,
    Price,
    Dryer,
    CrewHours,
    Surface,
)
"""Rows whose own checks hold for as long as they are stored. Those of others are about a moment: a
quote is like a house, until that is removed."""


@transaction.atomic
def import_company(*, name: str, content: bytes, now: datetime) -> Company:
    """Store a file's company and return it. name: of the file.

    Nothing is sent because of it: what waited to be sent is not needed any more, webhooks and
    calendar servers are switched off until somebody gives them their secrets again, and people sign
    in with a new password, which they ask for by e-mail.

    Raises InputFaults with all that is wrong, each with its row and field; nothing is stored then.
    """
    read = rows_of_file(name, content)
    if faults := [*_taken(read)]:
        raise InputFaults(faults)
    (company,) = read.of(Company)
    try:
        for model in kept_models():
            for one in read.of(model):
                _quieten(one.row, now)
            _store(model, read.of(model), company.row)
        for model in kept_models():
            _name_later(model, read.of(model))
        if faults := [*_unfit(read)]:
            raise InputFaults(faults)
    except (IntegrityError, DataError, UnicodeEncodeError) as error:
        text = f"its rows do not go together: {' '.join(str(error).split())[:300]}"
        raise InputFaults([Fault(name, text)]) from None
    stored = company.row
    assert isinstance(stored, Company)
    return stored


def _taken(read: FileRows) -> Iterator[Fault]:
    """Yield what is in this database already."""
    for model in kept_models():
        by_id = {one.row.public_id: one for one in read.of(model)}
        found = model._base_manager.filter(public_id__in=list(by_id))
        for public_id in found.values_list("public_id", flat=True)[:1]:
            yield Fault(by_id[public_id].place, "is in this database already")
    for model, field in ((Company, "name"), (User, "email")):
        by_value = {getattr(one.row, field): one for one in read.of(model)}
        there = model._base_manager.filter(**{f"{field}__in": list(by_value)})
        for value in there.values_list(field, flat=True):
            yield Fault(f"{by_value[value].place}, {field}", f"{value!r} is taken")


def _unfit(read: FileRows) -> Iterator[Fault]:
    """Yield what rows that work is reckoned with may not be, though each value could stand there:
    a pack of nothing, an hour for nothing."""
    for model in RECKONED_WITH:
        for one in read.of(model):
            try:
                one.row.clean()
            except ValidationError as error:
                for fault in faults_of_row(error):
                    yield Fault(f"{one.place}, {fault.place}", fault.text)
            except TypeError:  # a list that is none
                yield Fault(one.place, "holds what cannot be read")


def _store(model: type[Row], found: list[FileRow], company: Row) -> None:
    """Store rows with what they name, but for what is stored later."""
    for one in found:
        if model is not Company:
            one.row.company = company  # type: ignore[attr-defined]
        for name, target in one.named.items():
            if target.row.pk is not None:
                setattr(one.row, name, target.row)
    model._base_manager.bulk_create([one.row for one in found], batch_size=MOST_AT_ONCE)


def _name_later(model: type[Row], found: list[FileRow]) -> None:
    """Name what was not stored yet: rows of the same kind, and of one in a circle with it."""
    late: list[Row] = []
    for one in found:
        names = [n for n, target in one.named.items() if getattr(one.row, f"{n}_id") is None]
        for name in names:
            setattr(one.row, name, one.named[name].row)
        late += [one.row] * bool(names)
    if late:
        fields = [of.name for of in references(model)]
        model._base_manager.bulk_update(late, fields, batch_size=MOST_AT_ONCE)


def _quieten(row: Row, now: datetime) -> None:
    """Have a row send nothing and let nobody in, where what it needs for that is not in a file."""
    if isinstance(row, User):
        row.password = make_password(secrets.token_urlsafe(48))
    if isinstance(row, Webhook):
        row.secret = seal(new_secret())
    if isinstance(row, Endpoint) and row.off_at is None:
        row.off_at, row.off_why = now, Endpoint.Off.BY_HAND
    if isinstance(row, Outgoing) and row.state == Outgoing.State.WAITING:
        row.state, row.ended_at = Outgoing.State.OVERTAKEN, now
