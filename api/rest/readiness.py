"""/api/v1/readiness-lines/: what a house must offer before work can start."""

from collections.abc import Iterable, Mapping
from typing import Any

from rest_framework import serializers

from api.rest.fields import Choice, Day, OwnRelated, Text, YesNo
from api.rest.query import Flag, Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import House, ReadinessLine
from finishing.rules.vocabulary import Readiness
from finishing.services.errors import Fault
from finishing.services.readiness import ReadyLine, State, edit_readiness


class ReadinessLineSerializer(RowSerializer[ReadinessLine]):
    house = OwnRelated(House, help_text="stays")
    item = Choice([item.value for item in Readiness], help_text="stays")
    done = YesNo(required=False)
    expected_on = Day(required=False, allow_null=True, help_text="in the house's zone")
    owed_by = Text(max_length=120, required=False, allow_blank=True)

    fixed = ("house", "item")

    def faults(self, values: Mapping[str, Any]) -> Iterable[Fault]:
        if self.instance or not {"house", "item"} <= values.keys():
            return []
        if values["house"].readiness.filter(item=values["item"]).exists():
            return [Fault("item", "The house has a line of this already: change that one.")]
        return []


class ReadinessListing(Listing):
    house = serializers.UUIDField(required=False, source="house__public_id")
    done = Flag(required=False)


class ReadinessLines(Editable[ReadinessLine]):
    """What houses must offer: a line that is open and has no day holds its house."""

    model = ReadinessLine
    lookup_value_converter = "readiness_line"
    serializer_class = ReadinessLineSerializer
    query = ReadinessListing
    related = ("house__company",)

    def make(self, values: Mapping[str, Any]) -> ReadinessLine:
        house, item = values["house"], values["item"]
        self._put(house, _line(ReadinessLine(house=house, item=item), values, version=0))
        return ReadinessLine.objects.get(house=house, item=item)

    def edit(self, row: ReadinessLine, values: Mapping[str, Any]) -> None:
        self._put(row.house, _line(row, values, version=row.version))

    def remove(self, row: ReadinessLine) -> None:
        gone = ReadyLine(Readiness(row.item), State.NOT_ASKED, version=row.version)
        self._put(row.house, gone)

    def _put(self, house: House, line: ReadyLine) -> None:
        edit_readiness(house=house, lines=[line], by=self.who(), now=self.now())


def _line(row: ReadinessLine, values: Mapping[str, Any], *, version: int) -> ReadyLine:
    said = {
        name: values.get(name, getattr(row, name)) for name in ("done", "expected_on", "owed_by")
    }
    state = State.DONE if said.pop("done") else State.OPEN
    return ReadyLine(Readiness(row.item), state, version=version, **said)
