"""/api/v1/closures/: areas given to others, from day to day."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from rest_framework import serializers

from api.rest.fields import Day, OwnRelated, Text
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Area, Closure
from finishing.services.closures import ClosureLine, closure_faults, edit_closures
from finishing.services.errors import Fault

NEEDED = {"area", "first_day", "last_day"}


class ClosureSerializer(RowSerializer[Closure]):
    area = OwnRelated(Area, help_text="stays")
    first_day = Day(help_text="in the house's zone")
    last_day = Day(help_text="included")
    reason = Text(max_length=120, required=False, allow_blank=True)

    fixed = ("area",)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = self.together(values, self.instance)
        if self.instance:
            said["area"] = self.instance.area
        if not said.keys() >= NEEDED:
            return
        others = Closure.objects.filter(area=said["area"]).select_related("area")
        kept = [_line(_as_it_is(row)) for row in others if row != self.instance]
        for fault in closure_faults([*kept, _line(said)]):
            yield replace(fault, place=fault.place.rpartition("-")[2])


def _as_it_is(row: Closure) -> dict[str, Any]:
    return {name: getattr(row, name) for name in (*NEEDED, "reason")}


def _line(said: Mapping[str, Any], row: Closure | None = None, **more: Any) -> ClosureLine:
    seen = {"public_id": row.public_id, "version": row.version} if row else {}
    return ClosureLine("closure", **{**said, **seen, **more})


class ClosureListing(Listing):
    house = serializers.UUIDField(required=False, source="area__house__public_id")
    area = serializers.UUIDField(required=False, source="area__public_id")
    last_day_from = Day(required=False, source="last_day__gte")


class Closures(Editable[Closure]):
    """When areas are closed to crews since others work in them."""

    model = Closure
    lookup_value_converter = "closure"
    serializer_class = ClosureSerializer
    query = ClosureListing
    related = ("area__house__company",)

    def make(self, values: Mapping[str, Any]) -> Closure:
        self._put(values["area"], _line(values))
        found = {name: values[name] for name in NEEDED}
        return Closure.objects.filter(**found).latest("pk")

    def edit(self, row: Closure, values: Mapping[str, Any]) -> None:
        self._put(row.area, _line({**_as_it_is(row), **values}, row))

    def remove(self, row: Closure) -> None:
        self._put(row.area, _line(_as_it_is(row), row, remove=True))

    def _put(self, area: Area, line: ClosureLine) -> None:
        edit_closures(house=area.house, lines=[line], by=self.who(), now=self.now())
