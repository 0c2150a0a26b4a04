"""What is said of crews and their people day by day: a row a day, made for several at once."""

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, ClassVar

from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.fields import Day
from api.rest.query import Listing
from api.rest.rows import Removed
from api.rest.serializers import Strict
from finishing.services.day_stretches import DayRow, StretchLine
from finishing.services.errors import Fault
from finishing.services.one_day import change_day, remove_day


class NewDays(Strict):
    """Days in a row, both included."""

    first_day = Day()
    last_day = Day(required=False, help_text="the first, if left out; at most a year later")

    named: ClassVar[Sequence[str]]
    """What the rows say besides their day."""

    def faults(self, values: Mapping[str, Any]) -> Iterable[Fault]:
        """Return what the rules say, once all that they ask about is there."""
        needed = {"first_day", *(name for name in self.named if self.fields[name].required)}
        if not needed <= values.keys():
            return []
        return without_line(self.rule_faults(values, line_of(values, self.named)))

    @abstractmethod
    def rule_faults(self, values: Mapping[str, Any], line: StretchLine) -> Iterable[Fault]:
        """Return what the trade's rules say against such days."""


def line_of(values: Mapping[str, Any], names: Iterable[str]) -> StretchLine:
    """Return days as the services take them."""
    first = values["first_day"]
    said = {name: values.get(name) for name in names}
    return StretchLine("days", first, values.get("last_day", first), said)


def without_line(faults: Iterable[Fault]) -> list[Fault]:
    """Return faults of a line by the fields of a body."""
    return [replace(fault, place=fault.place.rpartition("-")[2]) for fault in faults]


class DayListing(Listing):
    day_from = Day(required=False, source="day__gte")
    day_to = Day(required=False, source="day__lte")


class DayRows[R: DayRow](Removed[R], ABC):
    """new: the body that makes rows."""

    new: ClassVar[type[NewDays]]

    @abstractmethod
    def make_days(self, values: Mapping[str, Any]) -> Iterable[R]:
        """Store rows by a service and return them, in the order of their days."""

    def create(self, request: Request) -> Response:
        """Make one for each day, all of them or none."""
        sent = self.new(data=request.data, context=self.get_serializer_context())
        sent.is_valid(raise_exception=True)
        with self.logging():
            rows = self.make_days(sent.validated_data)
        return Response({"results": self.get_serializer(rows, many=True).data}, status=201)

    def edit(self, row: R, values: Mapping[str, Any]) -> None:
        change_day(row=row, version=row.version, values=values)

    def remove(self, row: R) -> None:
        remove_day(row=row, version=row.version)
