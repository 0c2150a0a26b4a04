"""/api/v1/houses/: houses with their days, hours, shell, heating and jointing."""

from collections.abc import Iterator, Mapping
from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.copy_fields import CopiesSerializer, copies_of
from api.rest.described import described_as
from api.rest.fields import Choice, Day, Number, OwnRelated, Text, Whole, YesNo
from api.rest.query import Flag, Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import AirSource, Change, House, JointingSystem
from finishing.models.hours import validate_hours
from finishing.models.house import LIMITS, MOST_WEIGHT
from finishing.models.zones import validate_zone
from finishing.rules.vocabulary import CornerTool, Heating
from finishing.services.areas import put_areas
from finishing.services.copy_house import copy_house
from finishing.services.errors import Fault
from finishing.services.house_facts import FACTS, edit_house_facts, fact_faults
from finishing.services.new_house import (
    NEW_FIELDS,
    remove_house,
    set_house_active,
    start_house,
)

JOINTING = ("system", "corner_tool")


def _figure(name: str, **options: Any) -> Number:
    least, most = LIMITS[name]
    return Number(min_value=least, max_value=most, required=False, **options)


def _tick(said: str = "") -> YesNo:
    return YesNo(required=False, help_text=said)


class HouseSerializer(RowSerializer[House]):
    name = Text(max_length=120)
    address = Text(max_length=250, required=False, allow_blank=True)
    zone = Text(max_length=60, validators=[validate_zone], help_text="IANA, such as Europe/Dublin")
    latitude = _figure("latitude", allow_null=True, help_text="with longitude, or not at all")
    longitude = _figure("longitude", allow_null=True)
    handover_on = Day(help_text="in the house's zone")
    weight = Whole(
        min_value=1, max_value=MOST_WEIGHT, required=False, help_text="how much a late day counts"
    )
    opens_on = Day(required=False, allow_null=True, help_text="first day for finishing work")
    access = Text(
        max_length=200,
        required=False,
        allow_blank=True,
        validators=[validate_hours],
        help_text="hours crews may be inside, mon-fri 07:00-17:00; blank: at all hours",
    )
    is_active = _tick("has work to plan")
    is_open = _tick("no windows yet, until closed_from")
    closed_from = Day(required=False, allow_null=True)
    heating = Choice([h.value for h in Heating], required=False)
    setpoint_c = _figure("setpoint_c", allow_null=True)
    heated_from = Day(required=False, allow_null=True, help_text="null: already")
    heat_kw = _figure("heat_kw", allow_null=True, help_text="null: as much as it takes")
    flame_heater = _tick()
    volume_m3 = _figure("volume_m3", allow_null=True, help_text="null: from its rooms' sizes")
    air_changes_per_h = _figure("air_changes_per_h", help_text="while closed")
    fire_rated = _tick()
    old_joints = _tick("from before about 1980")
    corner_tool = Choice([c.value for c in CornerTool], required=False)
    system = OwnRelated(
        JointingSystem, required=False, allow_null=True, help_text="null: the company's usual one"
    )
    air_source = OwnRelated(AirSource, read_only=True, allow_null=True)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        house = self.instance or House(company=self.context["company"])
        yield from fact_faults(house, self.together(values, house))


class CopiedSerializer(serializers.Serializer[Any]):
    results = HouseSerializer(many=True)


class HouseListing(Listing):
    name = serializers.CharField(required=False, help_text="exactly")
    is_active = Flag(required=False)
    handover_from = Day(required=False, source="handover_on__gte")
    handover_to = Day(required=False, source="handover_on__lte")


class Houses(Editable[House]):
    """Houses that are finished, and to finish."""

    model = House
    lookup_value_converter = "house"
    logged_as = (Change.What.HOUSE,)
    serializer_class = HouseSerializer
    query = HouseListing
    related = ("system", "air_source")

    def make(self, values: Mapping[str, Any]) -> House:
        facts = {name: values[name] for name in NEW_FIELDS if name in values}
        house = start_house(
            company=self.company(self.request), facts=facts, areas=(), by=self.who(), now=self.now()
        )
        self.edit(house, {k: v for k, v in values.items() if k not in facts})
        return house

    def edit(self, row: House, values: Mapping[str, Any]) -> None:
        """Each of the services finds the version that the one before has left."""
        facts = {name: values.get(name, getattr(row, name)) for name in FACTS}
        jointing = {name: values[name] for name in JOINTING if name in values}
        by, now = self.who(), self.now()
        edit_house_facts(house=row, version=row.version, facts=facts, by=by, now=now)
        if jointing:
            put_areas(house=row, version=row.version, jointing=jointing, areas=(), by=by, now=now)
        if "is_active" in values:
            set_house_active(
                house=row, version=row.version, is_active=values["is_active"], by=by, now=now
            )

    def remove(self, row: House) -> None:
        remove_house(house=row, version=row.version)

    @described_as(request=CopiesSerializer, responses={201: CopiedSerializer})
    @action(detail=True, methods=["post"])
    def copies(self, request: Request, public_id: UUID) -> Response:
        """Make houses of the same type, all or none of them: the same areas, rooms, surfaces,
        joints, systems and levels, none of what has happened in this one."""
        house = self.row(public_id)
        sent = CopiesSerializer(data=request.data, context=self.get_serializer_context())
        sent.is_valid(raise_exception=True)
        values = sent.validated_data
        made = copy_house(
            house=house,
            copies=copies_of(values),
            handover_on=values["handover_on"],
            by=self.who(),
            now=self.now(),
        )
        rows = self.get_queryset().filter(pk__in=[row.pk for row in made]).order_by("pk")
        return Response({"results": self.get_serializer(rows, many=True).data}, status=201)
