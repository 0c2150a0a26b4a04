"""/api/v1/areas/: the floors or wings of houses, in their order."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from rest_framework import serializers

from api.rest.fields import Day, OwnRelated, Text, Whole
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Area, Change, House, JointingSystem
from finishing.services.areas import AreaEdit, area_name_faults
from finishing.services.errors import Fault
from finishing.services.house_facts import AreaDays, area_faults
from finishing.services.one_area import add_area, edit_area, remove_area

LAST = 999


class AreaSerializer(RowSerializer[Area]):
    house = OwnRelated(House, help_text="stays")
    name = Text(max_length=120)
    floor = Text(
        max_length=60, required=False, allow_blank=True, help_text="areas of one floor share air"
    )
    position = Whole(min_value=0, max_value=LAST, required=False, help_text="from 0; others follow")
    handover_on = Day(required=False, allow_null=True, help_text="where it is not the house's")
    system = OwnRelated(
        JointingSystem, required=False, allow_null=True, help_text="null: the house's"
    )

    fixed = ("house",)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        house = self.instance.house if self.instance else values.get("house")
        if house is None:
            return
        said = self.together(values, self.instance)
        area = self.instance or Area(house=house, name=said.get("name", ""))
        found = [*area_faults({"opens_on": house.opens_on}, [_days(area, said)])]
        if "name" in said:
            found += area_name_faults(house, [AreaEdit("", said["name"], area=self.instance)])
        yield from (replace(fault, place=fault.place.removeprefix("-")) for fault in found)


def _days(area: Area, said: Mapping[str, Any]) -> AreaDays:
    return AreaDays("", area, area.version, area.floor, said.get("handover_on"))


class AreaListing(Listing):
    house = serializers.UUIDField(required=False, source="house__public_id")


class Areas(Editable[Area]):
    """Areas of houses: their rooms are coated room after room."""

    model = Area
    lookup_value_converter = "area"
    logged_as = (Change.What.AREA,)
    serializer_class = AreaSerializer
    query = AreaListing
    related = ("house__company", "system")

    def make(self, values: Mapping[str, Any]) -> Area:
        return add_area(house=values["house"], values=values, by=self.who(), now=self.now())

    def edit(self, row: Area, values: Mapping[str, Any]) -> None:
        edit_area(area=row, version=row.version, values=values, by=self.who(), now=self.now())

    def remove(self, row: Area) -> None:
        remove_area(area=row, version=row.version, by=self.who(), now=self.now())
