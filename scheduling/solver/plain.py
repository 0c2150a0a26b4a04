"""Frozen dataclasses as the plain data that JSON holds, and back, guided by their annotations.

An object holds the fields that are not at their default, so a new field with a default needs no
word here and old data stays readable. A Span is [start, end]; a set is a sorted list.
"""

from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Any, Union, cast, get_args, get_origin, get_type_hints

from scheduling.solver.problem import Span


def to_plain(value: Any) -> Any:
    """Return a dataclass, or a collection of them, as JSON-ready data."""
    if isinstance(value, Span):
        return [value.start, value.end]
    if is_dataclass(value):
        present = ((field, getattr(value, field.name)) for field in fields(value))
        return {f.name: to_plain(held) for f, held in present if not _at_default(f, held)}
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, tuple):
        return [to_plain(item) for item in value]
    if isinstance(value, Mapping):
        return {key: to_plain(item) for key, item in value.items()}
    return value


def from_plain[T](kind: type[T], data: Any) -> T:
    """Return the ``kind`` (dataclass or annotated collection) that to_plain made data of.

    Raises TypeError where an object has a field too many or too few; the values are not checked.
    """
    return cast(T, _build(kind, data))


def _at_default(field: Any, value: Any) -> bool:
    if field.default_factory is not MISSING:
        return bool(value == field.default_factory())
    return bool(value == field.default)


def _build(kind: Any, data: Any) -> Any:
    shape, inner = get_origin(kind), get_args(kind)
    if shape in {Union, UnionType}:
        (kept,) = (choice for choice in inner if choice is not NoneType)
        return None if data is None else _build(kept, data)
    if kind is Span:
        return Span(*data)
    if is_dataclass(kind):
        types = _types(cast(type, kind))
        built = {name: _build(types.get(name), held) for name, held in data.items()}
        return cast(Any, kind)(**built)
    return _collection(shape, inner, data)


def _collection(shape: Any, inner: tuple[Any, ...], data: Any) -> Any:
    if shape is tuple:
        return tuple(_build(inner[0], item) for item in data)
    if shape is frozenset:
        return frozenset(data)
    if shape is Mapping:
        return {key: _build(inner[1], item) for key, item in data.items()}
    return data


@cache
def _types(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)
