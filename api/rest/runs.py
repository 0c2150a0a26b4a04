"""/api/v1/runs/: plans asked for, how far each is, and what it made."""

from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Conflict, Overtaken
from api.rest.fields import Instant
from api.rest.query import Listing
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer, Strict
from finishing.queries.companies import can_plan
from scheduling.change_wording import freed_sentence
from scheduling.jobs import look_after_runs, request_replan
from scheduling.models import PlanRun
from scheduling.run_wording import failure_sentence
from scheduling.services.run_progress import best_so_far
from scheduling.services.run_steps import search_seconds_left
from scheduling.services.stop import stop_run

ACCEPTED = 202


class StepSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="air, search, dryers, or odds for a scenario or quote")
    at_s = serializers.FloatField(source="at", help_text="since started_at")
    search_s = serializers.FloatField(
        source="seconds", help_text="the longest it searches; 0: it takes what it takes"
    )


class BestSerializer(serializers.Serializer[Any]):
    cost_minutes = serializers.IntegerField(
        source="cost", help_text="lateness and extra hours, weighted"
    )
    bound_minutes = serializers.IntegerField(source="bound", help_text="no plan goes below")
    visits = serializers.IntegerField(help_text="as the search counts them: short ones twice")
    idle_minutes = serializers.IntegerField()
    found_s = serializers.FloatField(source="seconds", help_text="since its search began")


class FreedSerializer(serializers.Serializer[Any]):
    """A visit that could not stay where it was, though pinned or soon."""

    house = serializers.CharField()
    crew = serializers.CharField()
    starts_at = Instant()
    ends_at = Instant()
    is_pinned = serializers.BooleanField(source="pinned")
    rule = serializers.CharField(source="code", help_text="that it would break")
    tasks = serializers.ListField(child=serializers.CharField(), help_text="their keys")
    text = serializers.SerializerMethodField()

    def get_text(self, freed: Any) -> str:
        return freed_sentence(freed)


class ProgressSerializer(serializers.Serializer[Any]):
    """How far a run is."""

    state = serializers.ChoiceField(PlanRun.Status.choices, source="status")
    requested_at = Instant()
    started_at = Instant(source="claimed_at", allow_null=True)
    finished_at = Instant(allow_null=True)
    plan_from = Instant(help_text="nothing is planned to start before")
    stop_requested = serializers.BooleanField()
    steps = StepSerializer(many=True)
    best = serializers.SerializerMethodField(help_text="plan of the search so far")
    search_left_s = serializers.SerializerMethodField(help_text="at most; null: it is not running")
    failure = serializers.SerializerMethodField(help_text="why; null: it has not failed")

    @extend_schema_field(BestSerializer(allow_null=True))
    def get_best(self, run: PlanRun) -> Any:
        best = best_so_far(run)
        return BestSerializer(asdict(best)).data if best else None

    def get_search_left_s(self, run: PlanRun) -> float | None:
        if run.status != PlanRun.Status.RUNNING:
            return None
        return round(search_seconds_left(run, timezone.now()), 1)

    def get_failure(self, run: PlanRun) -> str | None:
        return failure_sentence(run.error) if run.status == PlanRun.Status.FAILED else None


class RunSerializer(RowSerializer[PlanRun], ProgressSerializer):
    plans = serializers.SerializerMethodField(
        help_text="ids: one to work on, or proposals, the fewest changes first"
    )
    freed = FreedSerializer(many=True, help_text="visits that could not stay")
    unreported = serializers.IntegerField(
        help_text="tasks taken as done as planned, of which no crew has said so"
    )

    def get_plans(self, run: PlanRun) -> list[UUID]:
        return sorted(plan.public_id for plan in run.plans.all())


class NothingSerializer(Strict):
    """An empty object: there is nothing to say."""


class RunListing(Listing):
    state = serializers.ChoiceField(PlanRun.Status.choices, required=False, source="status")


class Runs(Rows[PlanRun]):
    """Plans that were asked for: queued, running, done or failed."""

    model = PlanRun
    lookup_value_converter = "run"
    serializer_class = RunSerializer
    query = RunListing
    prefetched = ("plans",)

    def get_queryset(self) -> Any:
        return super().get_queryset().defer(None).defer("problem")

    def check_query(self, request: Request) -> None:
        super().check_query(request)
        look_after_runs(now=self.now())

    @described_as(request=NothingSerializer, responses={ACCEPTED: RunSerializer})
    def create(self, request: Request) -> Response:
        """Ask for a plan of all houses from now on. Poll its Location until it is done or failed;
        one that has not begun yet is answered instead of a second; one that goes on is stopped."""
        NothingSerializer(data=request.data).is_valid(raise_exception=True)
        company = self.company(request)
        if not can_plan(company):
            raise Conflict("There is no house to plan, or no crew.")
        return self._accepted(request_replan(company=company, now=self.now()))

    @described_as(request=None, responses={ACCEPTED: RunSerializer})
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Ask a run to end now with the best plan so far; refused once it is over."""
        run = self.row(public_id)
        if not stop_run(run=run):
            raise Overtaken("over", "The run is over already.")
        return self._accepted(run)

    def _accepted(self, run: PlanRun) -> Response:
        return self.changed(run, status=ACCEPTED)
