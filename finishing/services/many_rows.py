"""Writing many rows of a model at once: what ``put_row`` does for one, in a few statements."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Field, ForeignKey, QuerySet

from finishing.models.owned import Row
from finishing.services.rows import delete_others, set_values


@dataclass(frozen=True, slots=True)
class Wanted:
    """A row as it is to be: the fields that tell it from others, and those to bring in line."""

    match: Mapping[str, Any]
    values: Mapping[str, Any] = field(default_factory=dict)


def put_rows[R: Row](rows: QuerySet[R], wanted: Sequence[Wanted]) -> list[R]:
    """Return for each of wanted the row that matches, with its values; made where there is none.

    Call it in a transaction. rows: all among which a match may be; every match names the same
    fields. Raises ValidationError, and stores nothing, where a row would not be in order.
    """
    found: dict[tuple[Any, ...], R] = {}
    names = [_column(rows.model, name) for one in wanted[:1] for name in one.match]
    for row in rows.order_by("pk") if wanted else ():
        found.setdefault(_key(row, names), row)
    before = {row.pk for row in found.values()}
    put: list[R] = []
    touched: dict[int, R] = {}
    for one in wanted:
        fresh = rows.model(**one.match)
        row = found.setdefault(_key(fresh, names), fresh)
        if set_values(row, one.values) or row is fresh:
            touched[id(row)] = row
        put.append(row)
    _store(rows.model, touched.values(), before)
    return put


def put_only[R: Row](rows: QuerySet[R], wanted: Sequence[Wanted]) -> list[R]:
    """Bring rows in line with what is wanted, as ``put_rows`` does, and delete all others."""
    put = put_rows(rows, wanted)
    delete_others(rows, put)
    return put


def check_alone(row: Row) -> None:
    """Check a row but for what the database itself holds, which would take queries for each: that
    it is unique, and that the rows to which it refers are there."""
    refers = {f.name for f in row._meta.concrete_fields if isinstance(f, ForeignKey)}
    row.full_clean(exclude=refers, validate_unique=False, validate_constraints=False)


def _column(model: type[Row], name: str) -> str:
    """Return the attribute that holds a field's own value: of a reference, the other row's key."""
    of_model = model._meta.get_field(name)
    assert isinstance(of_model, Field)
    return of_model.attname


def _key(row: Row, names: Iterable[str]) -> tuple[Any, ...]:
    return tuple(getattr(row, name) for name in names)


def _store[R: Row](model: type[R], rows: Iterable[R], before: set[int]) -> None:
    """Insert the new rows; update the others and count their versions up."""
    made, changed = [], []
    for row in rows:
        if row.pk in before:
            row.version += 1
            changed.append(row)
        else:
            made.append(row)
        check_alone(row)
    model._default_manager.bulk_create(made)
    if changed:  # far quicker than bulk_update, whose statement has a case for each row and field
        names = [f.name for f in model._meta.concrete_fields if not f.primary_key]
        model._default_manager.bulk_create(
            changed, update_conflicts=True, update_fields=names, unique_fields=["id"]
        )
