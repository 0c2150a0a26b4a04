"""Reads the rows of a company's file, and finds all faults before any is stored."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import BinaryField, CharField, Field, ForeignKey, JSONField, TextField

from finishing.models import Company
from finishing.models.owned import Row
from finishing.services.errors import Fault, InputFaults
from scheduling.services.company_file import CAME_LATER, FORMAT, VERSION, kept_fields, kept_models


@dataclass
class FileRow:
    """A row that is not stored yet. written: by field, the id that stands in the file; named: the
    row that this means."""

    row: Row
    place: str
    written: dict[str, str] = field(default_factory=dict)
    named: dict[str, "FileRow"] = field(default_factory=dict)


@dataclass(frozen=True)
class FileRows:
    """The rows of a file, by kind and public id."""

    by_model: Mapping[type[Row], Mapping[str, FileRow]]

    def of(self, model: type[Row]) -> list[FileRow]:
        """Return the rows of a kind, in the order of the file."""
        return list(self.by_model[model].values())


def rows_of_file(name: str, content: bytes) -> FileRows:
    """Return what a file holds; raise InputFaults with all that is wrong with it."""
    given = _given(name, content)
    faults: list[Fault] = []
    labels = {model._meta.label: model for model in kept_models()}
    faults += [Fault(name, f"{label!r} is no kind of rows") for label in given.keys() - labels]
    read: dict[type[Row], dict[str, FileRow]] = {}
    for label, model in labels.items():
        read[model] = {}
        for number, values in enumerate(_listed(given.get(label, []), label, faults), 1):
            _read_row(model, values, f"{label} {number}", read[model], faults)
    for model, rows in read.items():
        for one in rows.values():
            faults += _name_others(model, one, read)
    if len(read[Company]) != 1 and not faults:
        faults.append(Fault(name, f"holds {len(read[Company])} companies, and not one"))
    if faults:
        raise InputFaults(faults)
    return FileRows(read)


def _given(name: str, content: bytes) -> dict[str, Any]:
    """Return the rows of a file by their labels, as they stand there."""
    try:
        whole = json.loads(content, parse_float=_finite, parse_constant=_finite)
    except (ValueError, RecursionError) as error:  # also of a figure that is too long
        raise InputFaults([Fault(name, f"is no JSON: {error}")]) from None
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise InputFaults([Fault(name, f"is no file of a company (format {FORMAT!r})")])
    if whole.get("version") != VERSION:
        text = f"is of version {whole.get('version')!r}; this program reads version {VERSION}"
        raise InputFaults([Fault(name, text)])
    rows = whole.get("rows")
    if not isinstance(rows, dict):
        raise InputFaults([Fault(name, "has no rows")])
    return rows


def _finite(text: str) -> float:
    """Read a figure; neither JSON nor any field has an endless one, or none."""
    if not isfinite(figure := float(text)):
        raise ValueError(f"{text} is no figure")
    return figure


def _listed(rows: Any, label: str, faults: list[Fault]) -> list[Any]:
    if isinstance(rows, list):
        return rows
    faults.append(Fault(label, "is no list of rows"))
    return []


def _read_row(
    model: type[Row], values: Any, place: str, rows: dict[str, FileRow], faults: list[Fault]
) -> None:
    """Add a row to those read, or say what is wrong with it."""
    fields = {one.name: one for one in kept_fields(model)}
    if not isinstance(values, dict):
        faults.append(Fault(place, "is no row"))
        return
    faults += [Fault(f"{place}, {name}", "is no field") for name in values.keys() - fields]
    needed = fields.keys() - CAME_LATER.get(model._meta.label, ())
    faults += [Fault(f"{place}, {name}", "is missing") for name in needed - values.keys()]
    one = FileRow(model(), place)
    for name in [name for name in fields if name in values]:
        try:
            _put(one, fields[name], values[name])
        except ValidationError as error:
            faults += [Fault(f"{place}, {name}", text) for text in error.messages]
    key = str(one.row.public_id)
    if rows.setdefault(key, one) is not one:
        faults.append(Fault(f"{place}, public_id", f"{key} is also that of {rows[key].place}"))


def _put(one: FileRow, of: "Field[Any, Any]", value: Any) -> None:
    """Give a row one of its values; a reference is kept as it is written until all are read."""
    if value is None:
        if not of.null:
            raise ValidationError("is needed")
        setattr(one.row, of.attname, None)
    elif isinstance(of, ForeignKey):
        if not isinstance(value, str):
            raise ValidationError("is no id")
        one.written[of.name] = value
    elif isinstance(of, JSONField):
        _check_kind(of, value)
        setattr(one.row, of.attname, value)
    else:
        found = _read(of, value)
        if found not in of.empty_values:  # whether it may be blank is for the forms to say
            of.validate(found, one.row)
            of.run_validators(found)
        setattr(one.row, of.attname, found)


def _check_kind(of: "Field[Any, Any]", value: Any) -> None:
    """Hold a value against the one that its field has at first: a list or an object."""
    usual = of.get_default()
    if isinstance(usual, list | dict) and not isinstance(value, type(usual)):
        raise ValidationError("is no list" if isinstance(usual, list) else "is no object")


def _read(of: "Field[Any, Any]", value: Any) -> Any:
    """Return a value as its field has it: a field would take anything for a text, and fails in its
    own way over a day or bytes that are none."""
    if isinstance(of, CharField | TextField | BinaryField) and not isinstance(value, str):
        raise ValidationError("is no text")
    try:
        return of.to_python(value)
    except (TypeError, ValueError, OverflowError):
        raise ValidationError("cannot be read") from None


def _name_others(
    model: type[Row], one: FileRow, read: Mapping[type[Row], Mapping[str, FileRow]]
) -> Iterator[Fault]:
    """Find the rows that a row names; yield those that are not in the file."""
    for of in kept_fields(model):
        if (written := one.written.get(of.name)) is None:
            continue
        kind: Any = of.related_model
        target = read[kind].get(written)
        if target is None:
            label = kind._meta.label
            yield Fault(f"{one.place}, {of.name}", f"no {label} {written[:40]!r} in this file")
        else:
            one.named[of.name] = target
