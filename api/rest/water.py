"""GET /api/v1/houses/<uuid>/water/: how much water a house's coats leave, what keeps up with it."""

from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.query import percent
from api.rest.resource import CompanyResource
from finishing.rules.cautions import Caution
from finishing.rules.keeping_up import TARGET_HUMIDITY, HeldAir
from scheduling.cautions_wording import caution_text, defer_text
from scheduling.services.water_answers import AskedDryer, Load, WaterAnswers, water_answers


class StageWaterSerializer(serializers.Serializer[Any]):
    stage = serializers.CharField()
    litres = serializers.FloatField(help_text="wet, as they stay on the board")
    water_kg = serializers.FloatField()


class HeldAirSerializer(serializers.Serializer[Any]):
    temperature_c = serializers.FloatField()
    humidity_percent = serializers.FloatField()
    outdoor_c = serializers.FloatField(help_text="mean of the week to come")
    outdoor_humidity_percent = serializers.FloatField()
    volume_m3 = serializers.FloatField()
    air_changes_per_h = serializers.FloatField()


class DehumidifierSerializer(serializers.Serializer[Any]):
    name = serializers.CharField(help_text="blank: an example, as the company has entered none")
    owned = serializers.IntegerField()
    litres_per_day = serializers.FloatField(help_text="as rated")
    removes_kg_per_h = serializers.FloatField(help_text="in the air held")
    needed = serializers.IntegerField(allow_null=True, help_text="null: none keep up")


class LoadSerializer(serializers.Serializer[Any]):
    what = serializers.ChoiceField(["visit", "stage"])
    stages = serializers.ListField(child=serializers.CharField())
    water_kg = serializers.FloatField()
    given_off_kg_per_h = serializers.FloatField()
    flame_kg_per_h = serializers.FloatField()
    carried_out_kg_per_h = serializers.FloatField(help_text="below 0: air change brings it in")
    dehumidifiers = DehumidifierSerializer(many=True)
    air_changes_per_h = serializers.FloatField(
        allow_null=True, help_text="that would do alone; null: none, outdoors holds as much water"
    )


class CautionSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    text = serializers.CharField()


class WaterSerializer(serializers.Serializer[Any]):
    litres = serializers.FloatField()
    water_kg = serializers.FloatField()
    stages = StageWaterSerializer(many=True)
    held = HeldAirSerializer(allow_null=True, help_text="null: no outdoor air is known")
    until_closed = serializers.BooleanField(help_text="an open shell: it holds once it is closed")
    loads = LoadSerializer(many=True)
    flame_kg_per_kwh = serializers.FloatField(allow_null=True)
    flame_kg_per_h = serializers.FloatField(allow_null=True, help_text="at full heat")
    cautions = CautionSerializer(many=True)


class HouseWater(CompanyResource):
    parameters = {"GET": ("humidity_percent",)}

    @described_as(
        parameters=[OpenApiParameter("humidity_percent", float, description="to be held")],
        responses=WaterSerializer,
    )
    def get(self, request: Request, public_id: UUID) -> Response:
        """Return how much water a house's coats leave, and what keeps up with it."""
        humidity = percent(request, "humidity_percent", usual=100 * TARGET_HUMIDITY) / 100
        house = self.house(request, public_id)
        found = water_answers(house=house, now=timezone.now(), humidity=humidity)
        return Response(WaterSerializer(_body(found)).data)


def _body(found: WaterAnswers) -> dict[str, Any]:
    return {
        "litres": found.litres,
        "water_kg": found.water_kg,
        "stages": found.stages,
        "held": _held(found.held) if found.held else None,
        "until_closed": found.until_closed,
        "loads": [_load(load, found.dryers) for load in found.loads],
        "flame_kg_per_kwh": found.flame_kg_per_kwh,
        "flame_kg_per_h": found.flame_kg_per_h,
        "cautions": _cautions() if found.flame_kg_per_kwh is not None else [],
    }


def _held(held: HeldAir) -> dict[str, float]:
    return {
        "temperature_c": held.temperature_c,
        "humidity_percent": 100 * held.humidity,
        "outdoor_c": held.outdoor_c,
        "outdoor_humidity_percent": 100 * held.outdoor_humidity,
        "volume_m3": held.volume_m3,
        "air_changes_per_h": held.air_changes_per_h,
    }


def _load(load: Load, dryers: tuple[AskedDryer, ...]) -> dict[str, Any]:
    answer = load.answer
    asked = zip(dryers, answer.removes_kg_per_h, answer.dryers, strict=True)
    return {
        "what": "visit" if load.visit else "stage",
        "stages": load.stages,
        "water_kg": answer.water_kg,
        "given_off_kg_per_h": answer.given_off_kg_per_h,
        "flame_kg_per_h": answer.flame_kg_per_h,
        "carried_out_kg_per_h": answer.carried_out_kg_per_h,
        "dehumidifiers": [
            {
                "name": dryer.name,
                "owned": dryer.count,
                "litres_per_day": dryer.litres_per_day,
                "removes_kg_per_h": removes,
                "needed": needed,
            }
            for dryer, removes, needed in asked
        ],
        "air_changes_per_h": answer.air_changes_per_h,
    }


def _cautions() -> list[dict[str, str]]:
    return [
        {"code": Caution.HEATER_CO, "text": f"{caution_text(Caution.HEATER_CO)} {defer_text()}"}
    ]
