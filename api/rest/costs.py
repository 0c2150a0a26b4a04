"""GET /api/v1/plans/<uuid>/costs/ and /api/v1/houses/<uuid>/costs/. Only who plans may see them."""

from typing import Any
from uuid import UUID

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.fields import Instant
from api.rest.resource import CompanyResource
from finishing.queries.rights import Right
from scheduling.models import Plan
from scheduling.queries.plans import working_plan
from scheduling.services.hours_compared import stage_hours
from scheduling.services.kept_costs import plan_cost
from scheduling.services.plan_cost import PlanCost


class CostSerializer(serializers.Serializer[Any]):
    """Amounts in minor units of the company's currency, such as cents, by what they are for."""

    labour_minor = serializers.IntegerField(source="labour", help_text="hours on site")
    extra_minor = serializers.IntegerField(source="extra", help_text="extra hours on site")
    travel_minor = serializers.IntegerField(source="travel")
    material_minor = serializers.IntegerField(source="material", help_text="shares of packs")
    dryers_minor = serializers.IntegerField(source="dryers")
    late_minor = serializers.IntegerField(source="late", help_text="late handovers")
    total_minor = serializers.IntegerField(source="total")
    unpriced = serializers.SerializerMethodField(
        help_text="what has no price and counts as nothing: kinds of prices and of supplies, and "
        "material: with a compound's name"
    )

    def get_unpriced(self, cost: Any) -> list[str]:
        return sorted(cost.unpriced)


class HouseOfPlanSerializer(serializers.Serializer[Any]):
    house = serializers.UUIDField(source="house_id")
    name = serializers.CharField()
    person_minutes = serializers.IntegerField(help_text="on site")
    cost = CostSerializer()


class PlanCostsSerializer(serializers.Serializer[Any]):
    person_minutes = serializers.IntegerField()
    cost = CostSerializer(help_text="the sum of its houses")
    houses = HouseOfPlanSerializer(many=True)


class VisitCostSerializer(serializers.Serializer[Any]):
    crew = serializers.UUIDField()
    starts_at = Instant()
    ends_at = Instant()
    person_minutes = serializers.IntegerField()
    cost = CostSerializer()


class StageHoursSerializer(serializers.Serializer[Any]):
    stage = serializers.CharField()
    planned_minutes = serializers.IntegerField(source="planned")
    actual_minutes = serializers.IntegerField(source="actual")
    unreported_minutes = serializers.IntegerField(
        source="unreported", help_text="planned, in visits not reported from start to end"
    )


class HouseCostsSerializer(serializers.Serializer[Any]):
    plan = serializers.UUIDField(allow_null=True, help_text="worked on; null: there is none")
    person_minutes = serializers.IntegerField()
    cost = CostSerializer(help_text="the sum of its visits and of what is beside them")
    visits = VisitCostSerializer(many=True)
    beside = CostSerializer(help_text="dryers and late handovers")
    hours_so_far = StageHoursSerializer(many=True, help_text="person-minutes of visits by now")


class PlanCosts(CompanyResource):
    needs = Right.PLAN

    @described_as(responses=PlanCostsSerializer)
    def get(self, request: Request, public_id: UUID) -> Response:
        """Return what a plan costs, from the moment on that it was made for, at today's prices."""
        plan = self.own(request, Plan, public_id, "run")
        return Response(PlanCostsSerializer(plan_cost(plan)).data)


class HouseCosts(CompanyResource):
    needs = Right.PLAN

    @described_as(responses=HouseCostsSerializer)
    def get(self, request: Request, public_id: UUID) -> Response:
        """Return what a house costs in the plan to work on, visit by visit, and its hours so far,
        planned and taken."""
        house = self.house(request, public_id)
        plan = working_plan(house.company)
        cost = (plan_cost(plan) if plan else PlanCost(())).of(house)
        said = {
            "plan": plan.public_id if plan else None,
            "person_minutes": cost.person_minutes,
            "cost": cost.cost,
            "visits": cost.visits,
            "beside": cost.beside,
            "hours_so_far": stage_hours(house, timezone.now()),
        }
        return Response(HouseCostsSerializer(said).data)
