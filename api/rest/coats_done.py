"""/api/v1/coats-done/: how far areas of a half-done house were when it was taken on."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from django.utils import timezone
from rest_framework import serializers

from api.rest.fields import Choice, Instant, OwnRelated, Text
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Area, CoatDone, Compound
from finishing.rules.vocabulary import Stage
from finishing.services.coats_done import FIELDS, CoatLine, coat_faults, edit_coats_done
from finishing.services.errors import Fault


class CoatDoneSerializer(RowSerializer[CoatDone]):
    area = OwnRelated(Area, help_text="stays")
    stage = Choice([stage.value for stage in Stage], help_text="the last that was done")
    compound = OwnRelated(
        Compound, required=False, allow_null=True, help_text="null: as the area's system says"
    )
    ended_at = Instant(help_text="what goes over it waits from then on")
    done_by = Text(max_length=120, required=False, allow_blank=True)

    fixed = ("area",)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = self.together(values, self.instance)
        area = self.instance.area if self.instance else values.get("area")
        if area is None:
            return
        if self.instance is None and CoatDone.objects.filter(area=area).exists():
            yield Fault("area", "It is said already how far this area was: change that.")
        if "stage" in said:
            for fault in coat_faults([_line(area, said)], timezone.now()):
                name = fault.place.rpartition("-")[2]
                if name in said:  # what is missing says so itself
                    yield replace(fault, place=name)


def _line(area: Area, said: Mapping[str, Any], *, version: int = 0) -> CoatLine:
    values = {name: said[name] for name in FIELDS if name in said}
    return CoatLine("coat", area, version=version, **{**values, "stage": Stage(said["stage"])})


class CoatsDoneListing(Listing):
    house = serializers.UUIDField(required=False, source="area__house__public_id")
    area = serializers.UUIDField(required=False, source="area__public_id")


class CoatsDone(Editable[CoatDone]):
    """The last stage that was done in an area before its house was taken on."""

    model = CoatDone
    lookup_value_converter = "coat_done"
    serializer_class = CoatDoneSerializer
    query = CoatsDoneListing
    related = ("area__house__company", "compound")

    def make(self, values: Mapping[str, Any]) -> CoatDone:
        self._put(_line(values["area"], values))
        return CoatDone.objects.get(area=values["area"])

    def edit(self, row: CoatDone, values: Mapping[str, Any]) -> None:
        said = {**{name: getattr(row, name) for name in FIELDS}, **values}
        self._put(_line(row.area, said, version=row.version))

    def remove(self, row: CoatDone) -> None:
        self._put(CoatLine("coat", row.area, None, version=row.version))

    def _put(self, line: CoatLine) -> None:
        edit_coats_done(house=line.area.house, lines=[line], by=self.who(), now=self.now())
