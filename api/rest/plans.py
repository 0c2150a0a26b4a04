"""/api/v1/plans/: the working and the published plan, proposals, and the work in each."""

from typing import Any, ClassVar
from uuid import UUID
from zoneinfo import ZoneInfo

from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Overtaken
from api.rest.plan_fields import PlanSerializer
from api.rest.planned_work import PlannedVisitSerializer, TaskListing, TaskSerializer, VisitQuery
from api.rest.query import Listing
from api.rest.rows import Rows
from scheduling.change_wording import refusal_sentence
from scheduling.models import Plan, PlannedTask
from scheduling.models.run import without_large
from scheduling.queries.planned_visits import blocks_during
from scheduling.queries.plans import PlanStates, published_plan, working_plan
from scheduling.services.proposals import ProposalError, accept_proposal


class PlanListing(Listing):
    run = serializers.UUIDField(required=False, source="run__public_id")
    kind = serializers.ChoiceField(Plan.Kind.choices, required=False, help_text="of proposals")


class CurrentSerializer(serializers.Serializer[Any]):
    working = PlanSerializer(allow_null=True, help_text="the plan to work on; null: there is none")
    published = PlanSerializer(allow_null=True, help_text="what crews see; null: nothing")


class VisitsSerializer(serializers.Serializer[Any]):
    visits = PlannedVisitSerializer(many=True, help_text="by time")


class Plans(Rows[Plan]):
    """Plans that runs have made. Of proposals one may be accepted; publishing it is another step.

    A plan never changes once it is made: planning again makes others.
    """

    model = Plan
    lookup_value_converter = "plan"
    serializer_class = PlanSerializer
    query = PlanListing
    related = ("run", "base")

    def get_queryset(self) -> Any:
        return super().get_queryset().defer(*without_large("run"))

    asked: ClassVar = {"tasks": TaskListing, "visits": VisitQuery}

    def check_query(self, request: Request) -> None:
        if self.action in self.asked:
            self.said_in_query = self.asked[self.action].read(request)
        else:
            super().check_query(request)

    def get_serializer_context(self) -> dict[str, Any]:
        context = super().get_serializer_context()
        return {**context, "states": PlanStates(context["company"])} if "company" in context else {}

    @described_as(responses=CurrentSerializer)
    @action(detail=False)
    def current(self, request: Request) -> Response:
        """Return the plan that the office works on, and the one that crews see."""
        company = self.company(request)
        plans = {"working": working_plan(company), "published": published_plan(company)}
        return Response({name: self.said(plan) if plan else None for name, plan in plans.items()})

    @described_as(request=None, responses=PlanSerializer)
    @action(detail=True, methods=["post"])
    def accept(self, request: Request, public_id: UUID) -> Response:
        """Make a proposal the working plan; refused, with the reason, where it was overtaken."""
        company, plan = self.company(request), self.row(public_id)
        try:
            accept_proposal(company=company, plan=plan, now=self.now())
        except ProposalError as error:
            said = refusal_sentence(error.code, error.values, ZoneInfo(company.zone))
            raise Overtaken(error.code, said) from None
        return self.changed(plan)

    @described_as(parameters=[TaskListing], responses=TaskSerializer(many=True))
    @action(detail=True)
    def tasks(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """List a plan's tasks: who does them, when, and why not earlier."""
        filters = TaskListing.chosen(self.said_in_query)
        rows = PlannedTask.objects.filter(plan=self.row(public_id), **filters)
        page = self.paginate_queryset(rows.select_related("crew", "house", "area"))
        return self.get_paginated_response(TaskSerializer(page, many=True).data)

    @described_as(parameters=[VisitQuery], responses=VisitsSerializer)
    @action(detail=True)
    def visits(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Return a plan's visits of some days: a crew at a house for one block of work."""
        asked = self.said_in_query
        visits = [
            block
            for block in blocks_during(self.row(public_id), *asked["span"])
            if block.crew.public_id == asked.get("crew", block.crew.public_id)
            and block.house.public_id == asked.get("house", block.house.public_id)
        ]
        return Response(VisitsSerializer({"visits": visits}).data)
