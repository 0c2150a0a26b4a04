"""Fields that take what their schema says and nothing that only looks like it."""

import math
import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time
from typing import Any, ClassVar
from uuid import UUID

from django.core.exceptions import ObjectDoesNotExist
from django.core.exceptions import ValidationError as RowFaults
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.row_ids import own_rows
from finishing.models import Company
from finishing.models.owned import Row
from finishing.services.local_times import YEARS, LocalTimeError, read_local

type Messages = dict[str, Any]

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt ][0-9:.]{5,15}([Zz]|[+-][0-9:]{2,6})?")
_CLOCK = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")


class Text(serializers.CharField):
    """One line of text; blanks around it are left out."""

    default_error_messages: ClassVar[Messages] = {
        "unseen": "Has a line break or another character that cannot be seen."
    }

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("invalid")
        text = super().to_internal_value(data)
        if not self.is_seen(text):
            self.fail("unseen")
        return text

    def is_seen(self, text: str) -> bool:
        return text.isprintable()


class Lines(Text):
    """A text of some lines."""

    def is_seen(self, text: str) -> bool:
        return all(line.replace("\t", " ").isprintable() for line in text.splitlines())


class Number(serializers.FloatField):
    """A number of JSON, no text and no truth value; finite, as JSON is."""

    def to_internal_value(self, data: Any) -> float:
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("invalid")
        try:
            value = float(data)
        except OverflowError:
            self.fail("invalid")
        if not math.isfinite(value):
            self.fail("invalid")
        return value


class Percent(Number):
    """A percentage of what is stored as a fraction."""

    def run_validation(self, data: Any = serializers.empty) -> Any:
        value = super().run_validation(data)
        return value if value is None else round(value / 100, 8)

    def to_representation(self, value: Any) -> Any:
        return round(value * 100, 6)


class Whole(serializers.IntegerField):
    """A whole number of JSON."""

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, float) and data.is_integer() and abs(data) < 2**53:
            data = int(data)  # 3.0 is a whole number too, JSON Schema says
        if isinstance(data, bool) or not isinstance(data, int):
            self.fail("invalid")
        return data


class YesNo(serializers.BooleanField):
    """true or false."""

    def to_internal_value(self, data: Any) -> bool:
        if not isinstance(data, bool):
            self.fail("invalid", input=data)
        return data


class Choice(serializers.ChoiceField):
    """One of some words."""

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, str):
            self.fail("invalid_choice", input=data)
        return super().to_internal_value(data)


class Several(serializers.ListField):
    """Some of a few words, each once and in their own order however they are sent."""

    def __init__(self, words: Iterable[str], **options: Any) -> None:
        self.words = [str(word) for word in words]
        super().__init__(child=Choice(self.words), **options)

    def to_internal_value(self, data: Any) -> list[str]:
        chosen = super().to_internal_value(data)
        return [word for word in self.words if word in chosen]

    def to_representation(self, data: Any) -> list[str]:
        return [word for word in self.words if word in data]


class Day(serializers.DateField):
    """A day as YYYY-MM-DD, in years that are no slip of a hand."""

    default_error_messages: ClassVar[Messages] = {
        "years": f"Is not in the years {YEARS[0]} to {YEARS[-1]}."
    }

    def to_internal_value(self, value: Any) -> date:
        if not isinstance(value, str) or not _DAY.fullmatch(value):
            self.fail("invalid", format="YYYY-MM-DD")
        day = super().to_internal_value(value)
        if day.year not in YEARS:
            self.fail("years")
        return day


class Instant(serializers.DateTimeField):
    """An instant in UTC as ISO 8601; what is sent has a Z or an offset."""

    default_error_messages: ClassVar[Messages] = {
        "invalid": "Is not an instant as 2026-03-02T07:30:00Z.",
        "no_offset": "Has neither a Z nor an offset.",
    }

    def to_internal_value(self, value: Any) -> datetime:
        if not isinstance(value, str) or not _INSTANT.fullmatch(value):
            self.fail("invalid")
        try:
            found = read_local(value)
            if found.tzinfo is None:
                self.fail("no_offset")
            return found.astimezone(UTC)
        except (LocalTimeError, OverflowError):
            self.fail("invalid")

    def to_representation(self, value: Any) -> Any:
        """Return it in UTC; plans keep instants in their JSON as text."""
        instant = datetime.fromisoformat(value) if isinstance(value, str) else value
        return super().to_representation(instant.astimezone(UTC)) if instant else None


@extend_schema_field({"type": "string", "pattern": f"^{_CLOCK.pattern}$", "example": "07:30"})
class Clock(serializers.Field[time, Any, str, Any]):
    """A time of day as HH:MM, on the clock of whatever it is about."""

    default_error_messages: ClassVar[Messages] = {"invalid": "Is not a time of day as HH:MM."}

    def to_internal_value(self, data: Any) -> time:
        if not isinstance(data, str) or not _CLOCK.fullmatch(data):
            self.fail("invalid")
        return time.fromisoformat(data)

    def to_representation(self, value: time) -> str:
        return f"{value:%H:%M}"


@extend_schema_field({"type": "string", "format": "uuid"})
class OwnRelated[R: Row](serializers.RelatedField[R, Any, str]):
    """Another row of the company, by its public id; another company's is not there.

    The serializer's context names the company.
    """

    default_error_messages: ClassVar[Messages] = {
        "invalid": "Is not an id.",
        "not_there": "There is none of this id.",
    }

    def __init__(self, model: type[R], **options: Any) -> None:
        if not options.get("read_only"):
            options["queryset"] = model._default_manager.none()
        self.model = model
        super().__init__(**options)

    def run_validation(self, data: Any = serializers.empty) -> Any:
        """Refuse an empty text, which a form sends for none."""
        if data == "":
            self.fail("invalid")
        return super().run_validation(data)

    def to_internal_value(self, data: Any) -> R:
        company = self.context["company"]
        assert isinstance(company, Company)
        if not isinstance(data, str):
            self.fail("invalid")
        try:
            return own_rows(company, self.model).get(public_id=UUID(data))
        except (ValueError, RowFaults):
            self.fail("invalid")
        except ObjectDoesNotExist:
            self.fail("not_there")

    def to_representation(self, value: Any) -> str:
        return str(value.public_id)

    def use_pk_only_optimization(self) -> bool:
        return False
