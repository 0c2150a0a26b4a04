"""Bodies that are read strictly: all faults at once, names that are not known among them."""

from collections.abc import Collection, Iterable, Mapping
from typing import Any, ClassVar

from django.core.exceptions import ValidationError as RowFaults
from rest_framework import serializers
from rest_framework.fields import SkipField, get_error_detail
from rest_framework.settings import api_settings

from api.rest.versions import etag_of
from finishing.models.owned import Row
from finishing.services.errors import Fault

LONGEST_NAME = 40


class Spelt(serializers.Serializer[Any]):
    """An object with names that a serializer has for itself: ``source``, ``errors``."""

    spelt: ClassVar[Mapping[str, str]] = {}
    """Such names, by what the fields are called here."""

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        return {self.spelt.get(name, name): field for name, field in fields.items()}


class Strict(Spelt):
    """An object of which every name is known.

    A field that only answers may come back as it was given, so that what was fetched can be sent
    again; anything else in it is a fault.
    """

    fixed: ClassVar[Collection[str]] = ()
    """Fields that only a new row is given."""

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        if self.instance is not None:
            for name in self.fixed:
                fields[name].read_only, fields[name].required = True, False
        return fields

    def faults(self, values: Mapping[str, Any]) -> Iterable[Fault]:  # noqa: ARG002
        """Return what does not fit together among the values that are good by themselves."""
        return ()

    def together(self, values: Mapping[str, Any], stored: object) -> dict[str, Any]:
        """Return the good values and, of fields that were not sent, those that are stored."""
        kept = {
            source: getattr(stored, source)
            for source, name in self._names_by_source().items()
            if name not in self.initial_data and hasattr(stored, source)
        }
        return {**kept, **values}

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        if not isinstance(data, Mapping):
            self._refuse({api_settings.NON_FIELD_ERRORS_KEY: ["Is not an object."]})
        values, errors = self._read(data)
        for name in data:
            if said := self._fault_of_name(name, data[name]):
                errors[name[:LONGEST_NAME]] = [said]
        named = set(errors)
        names = self._names_by_source()
        for fault in self.faults(values):
            first, *inner = fault.place.split("/")
            place = [names.get(first, first), *inner] if first else []
            if not named.intersection(place[:1]):
                _put(errors, place, fault.text)
        if errors:
            self._refuse(errors)
        return values

    def _read(self, data: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
        """Return what is good, by attribute, and what is not, by name."""
        values: dict[str, Any] = {}
        errors: dict[str, Any] = {}
        for field in self._writable_fields:
            name = str(field.field_name)
            try:
                value = field.run_validation(field.get_value(data))
            except serializers.ValidationError as error:
                errors[name] = error.detail
            except RowFaults as error:
                errors[name] = get_error_detail(error)
            except SkipField:
                pass
            else:
                self.set_value(values, field.source_attrs, value)
        return values, errors

    def _fault_of_name(self, name: str, value: Any) -> str:
        field = self.fields.get(name)
        if field is None:
            return f"Is not known here; known: {', '.join(self.editable())}."
        if not field.read_only:
            return ""
        if self.instance is not None and self._as_it_is().get(name) == value:
            return ""
        return "Cannot be set."

    def _names_by_source(self) -> dict[str, str]:
        return {str(field.source): str(field.field_name) for field in self._writable_fields}

    def editable(self) -> list[str]:
        """Return the names of the fields that can be set."""
        return [str(field.field_name) for field in self._writable_fields]

    def _as_it_is(self) -> Mapping[str, Any]:
        return dict(self.to_representation(self.instance))

    def _refuse(self, errors: dict[str, Any]) -> None:
        raise serializers.ValidationError(errors)


class RowSerializer[R: Row](Strict):
    """A row: its fields, its id, and the etag that a change of it is to name by If-Match."""

    id = serializers.UUIDField(source="public_id", read_only=True)
    etag = serializers.CharField(
        read_only=True, help_text="of these fields as they are; send it as If-Match to change them"
    )

    for_planners: ClassVar[Collection[str]] = ()
    """Fields that answers have only for who may plan: what things cost."""

    def version(self, row: R) -> int:
        """Return a number that is another once anything of the answer has changed."""
        return row.version

    def to_representation(self, instance: R) -> dict[str, Any]:
        hidden = {"etag", *(() if self.context.get("may_plan") else self.for_planners)}
        said = {
            str(field.field_name): self._shown(field, instance)
            for field in self._readable_fields
            if field.field_name not in hidden
        }
        return {**said, "etag": etag_of(said, self.version(instance))}

    def _shown(self, field: Any, row: R) -> Any:
        value = field.get_attribute(row)
        return None if value is None else field.to_representation(value)


def _put(errors: dict[str, Any], place: Iterable[str], text: str) -> None:
    """Add a fault at its place in nested ones, as DRF has them."""
    for name in place:
        errors = errors.setdefault(name, {})
    errors.setdefault(api_settings.NON_FIELD_ERRORS_KEY, []).append(text)
