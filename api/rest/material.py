"""/api/v1/material/: what the working plan needs, what to order by when, what crews load."""

from typing import Any

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.access import may_plan
from api.rest.described import described_as
from api.rest.fields import Instant
from api.rest.resource import CompanyResource
from finishing.models import Crew, House
from finishing.queries.materials import Item
from scheduling.services.kept_answers import kept_answer
from scheduling.services.material_needs import Need
from scheduling.services.material_orders import OrderLine
from scheduling.services.material_told import VisitMaterial, material_told
from scheduling.services.mixing import MixNote
from scheduling.services.van_loads import Load


class BoughtSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    unit = serializers.ChoiceField(["kg", "m", "each"])


class BoughtAmountSerializer(BoughtSerializer):
    amount = serializers.FloatField()


class PacksSerializer(serializers.Serializer[Any]):
    size = serializers.FloatField()
    packs = serializers.IntegerField()


class MaterialOrderSerializer(BoughtSerializer):
    packs = PacksSerializer(many=True)
    there_by = serializers.DateField(help_text="the day of the first visit that needs them")
    order_by = serializers.DateField()
    there_on = serializers.DateField(help_text="if ordered today")
    late = serializers.BooleanField()
    price = serializers.IntegerField(
        allow_null=True, help_text="in the smallest coin; null: not known, or who asks may not plan"
    )
    houses = serializers.ListField(child=serializers.CharField())


class MaterialNeedSerializer(serializers.Serializer[Any]):
    of = serializers.CharField(help_text="a house, the Monday of a week, or a crew")
    public_id = serializers.UUIDField(allow_null=True)
    litres = serializers.FloatField(help_text="of mixed compound, waste included")
    fasteners_litres = serializers.FloatField(help_text="of these, on fasteners")
    amounts = BoughtAmountSerializer(many=True)


class VanLoadSerializer(BoughtAmountSerializer):
    from_open = serializers.FloatField(help_text="taken from packs opened before")
    open_now = serializers.ListField(child=serializers.FloatField(), help_text="sizes of packs")
    left = serializers.FloatField(help_text="what is open afterwards")


class MixSerializer(serializers.Serializer[Any]):
    compound = serializers.CharField()
    stage = serializers.CharField()
    mixes = serializers.IntegerField()
    litres = serializers.FloatField(help_text="of each mix")
    powder_kg = serializers.FloatField()
    water_litres = serializers.FloatField()
    last_by = Instant(help_text="no whole mix after this")
    instead = serializers.CharField(help_text="can be worked longer; blank: mixes are not silly")


class VisitMaterialSerializer(serializers.Serializer[Any]):
    planned_visit = serializers.UUIDField()
    crew = serializers.CharField()
    house = serializers.CharField()
    starts_at = Instant()
    there_on = serializers.DateField(allow_null=True, help_text="where it is late: when it is not")
    loads = VanLoadSerializer(many=True)
    mixing = MixSerializer(many=True)


class MaterialSerializer(serializers.Serializer[Any]):
    orders = MaterialOrderSerializer(many=True)
    without_packs = BoughtSerializer(many=True, help_text="no pack size is known: not ordered")
    by_house = MaterialNeedSerializer(many=True)
    by_week = MaterialNeedSerializer(many=True)
    by_crew = MaterialNeedSerializer(many=True)
    visits = VisitMaterialSerializer(many=True)


class Material(CompanyResource):
    @described_as(responses=MaterialSerializer)
    def get(self, request: Request) -> Response:
        """Return what the working plan needs from today on, what to order, what crews load."""
        company, priced = self.company(request), may_plan(request)
        found = kept_answer(material_told, company=company, now=timezone.now())
        return Response(
            MaterialSerializer(
                {
                    "orders": [_order(line, priced=priced) for line in found.lines],
                    "without_packs": [_item(item) for item in found.without_packs],
                    "by_house": [_need(need) for need in found.needs.by_house],
                    "by_week": [_need(need) for need in found.needs.by_week],
                    "by_crew": [_need(need) for need in found.needs.by_crew],
                    "visits": [_visit(one) for one in found.visits],
                }
            ).data
        )


def _item(item: Item) -> dict[str, Any]:
    return {"name": item.name, "unit": item.unit}


def _order(line: OrderLine, *, priced: bool) -> dict[str, Any]:
    return {
        **_item(line.item),
        "packs": [{"size": size, "packs": count} for size, count in line.packs],
        "there_by": line.there_by,
        "order_by": line.order_by,
        "there_on": line.there_on,
        "late": line.late,
        "price": line.price if priced else None,
        "houses": list(dict.fromkeys(visit.house.name for visit in line.visits)),
    }


def _need(need: Need) -> dict[str, Any]:
    row = need.of if isinstance(need.of, House | Crew) else None
    return {
        "of": str(need.of),
        "public_id": row.public_id if row else None,
        "litres": need.litres,
        "fasteners_litres": need.fasteners_l,
        "amounts": [{**_item(item), "amount": amount} for item, amount in need.amounts.items()],
    }


def _visit(one: VisitMaterial) -> dict[str, Any]:
    return {
        "planned_visit": one.visit.key,
        "crew": one.visit.crew.name,
        "house": one.visit.house.name,
        "starts_at": one.visit.starts_at,
        "there_on": one.late.there_on if one.late else None,
        "loads": [_load(load) for load in one.loads],
        "mixing": [_mix(note) for note in one.notes],
    }


def _load(load: Load) -> dict[str, Any]:
    drawn = load.drawn
    return {
        **_item(load.item),
        "amount": load.amount,
        "from_open": drawn.from_open if drawn else 0.0,
        "open_now": drawn.opened if drawn else (),
        "left": drawn.left if drawn else 0.0,
    }


def _mix(note: MixNote) -> dict[str, Any]:
    return {
        "compound": note.compound,
        "stage": note.stage,
        "mixes": note.mixes.count,
        "litres": note.mixes.litres,
        "powder_kg": note.mixes.powder_kg,
        "water_litres": note.mixes.water_l,
        "last_by": note.last_by,
        "instead": note.instead,
    }
