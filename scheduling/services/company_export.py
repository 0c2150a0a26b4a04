"""A whole company as plain values, to be written into one file."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db.models import Field, ForeignKey, JSONField

from finishing.models import Company
from finishing.models.owned import Row
from scheduling.services.company_file import FORMAT, VERSION, kept_fields, kept_models
from scheduling.services.one_moment import one_moment

type Names = Mapping[tuple[type[Row], int], str]
_PLAIN = (bool, int, float, str, type(None))


class ExportError(RuntimeError):
    """A row names one that is not the company's."""


def export_company(*, company: Company, now: datetime) -> dict[str, Any]:
    """Return all of a company's rows as they are at one moment, but for what ``company_file``
    leaves out."""
    with one_moment():
        rows = {model: _rows_of(model, company) for model in kept_models()}
    names = {(model, row.pk): str(row.public_id) for model, found in rows.items() for row in found}
    return {
        "format": FORMAT,
        "version": VERSION,
        "exported_at": now.isoformat(),
        "rows": {
            model._meta.label: [_values(row, names) for row in found]
            for model, found in rows.items()
        },
    }


def _rows_of(model: type[Row], company: Company) -> list[Row]:
    mine = {"pk": company.pk} if model is Company else {"company": company}
    return list(model._base_manager.filter(**mine).order_by("pk"))


def _values(row: Row, names: Names) -> dict[str, Any]:
    return {field.name: _value(field, row, names) for field in kept_fields(type(row))}


def _value(field: "Field[Any, Any]", row: Row, names: Names) -> Any:
    """Return a value as JSON has it: exact, to the microsecond and to the byte."""
    value = field.value_from_object(row)
    if isinstance(field, ForeignKey) and value is not None:
        kind: Any = field.related_model
        try:
            return names[kind, value]
        except KeyError:
            name = f"{row._meta.label} {row.public_id}, {field.name}"
            raise ExportError(f"{name}: it names a row of another company") from None
    if isinstance(field, JSONField) or isinstance(value, _PLAIN):
        return value
    return field.value_to_string(row)
