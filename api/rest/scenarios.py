"""/api/v1/scenarios/: what would be planned if something were otherwise."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.functional import cached_property
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.change_fields import TriedChangeSerializer, read_change
from api.rest.described import described_as
from api.rest.errors import Conflict, Overtaken
from api.rest.fields import Instant, OwnRelated, Text
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.runs import ACCEPTED, ProgressSerializer
from api.rest.serializers import RowSerializer
from finishing.queries.companies import can_plan
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import StaleRowsError
from scheduling.jobs import look_after_runs, request_scenario_run
from scheduling.models import Plan, PlanRun, Scenario
from scheduling.queries.scenarios import scenario_runs
from scheduling.scenario_wording import refusal_sentence
from scheduling.services.adopt_scenario import AdoptError, adopt_scenario
from scheduling.services.compared_scenarios import PlanFigures, compared, priced
from scheduling.services.kept_costs import plan_costs
from scheduling.services.plan_cost import PlanCost
from scheduling.services.scenario_faults import MOST_CHANGES
from scheduling.services.scenarios import (
    LONGEST_NAME,
    copy_scenario,
    discard_scenario,
    edit_scenario,
    make_scenario,
    name_faults,
)
from scheduling.services.stop import stop_run


class ScenarioFiguresSerializer(serializers.Serializer[Any]):
    """What a plan comes to; null: not known."""

    late_days = serializers.FloatField(help_text="by weight")
    handovers_missed = serializers.IntegerField(source="missed", help_text="late or not planned")
    handovers_missed_on_average = serializers.FloatField(
        source="odds_missed", allow_null=True, help_text="in the air that may come"
    )
    idle_hours = serializers.FloatField()
    visits = serializers.IntegerField()
    visits_moved = serializers.IntegerField(
        source="moved", allow_null=True, help_text="of those that crews have been told of"
    )
    is_outdated = serializers.BooleanField(help_text="the scenario has other changes by now")
    cost_minor = serializers.SerializerMethodField(
        help_text="in minor units; null: there are no prices, or who asks may not plan"
    )
    cost_since = Instant(
        source="cost.since",
        default=None,
        allow_null=True,
        help_text="the later of the moments that this plan and the working plan were made for: "
        "what was over by then is not in cost_minor",
    )

    @extend_schema_field(serializers.IntegerField(allow_null=True))
    def get_cost_minor(self, row: PlanFigures) -> int | None:
        cost = row.cost.cost if row.cost else None
        return cost.total if cost and (cost.total or not cost.unpriced) else None


class ScenarioSerializer(RowSerializer[Scenario]):
    name = Text(max_length=LONGEST_NAME)
    changes = TriedChangeSerializer(  # type: ignore[call-arg]
        many=True, required=False, max_length=MOST_CHANGES
    )
    created_at = Instant(read_only=True)
    base = OwnRelated(Plan, read_only=True, allow_null=True, help_text="compared with: a plan")
    run = serializers.SerializerMethodField(help_text="newest; null: it was never planned")
    figures = serializers.SerializerMethodField(help_text="null: nothing is planned for it")

    def version(self, row: Scenario) -> int:
        return row.version

    @extend_schema_field(ProgressSerializer(allow_null=True))
    def get_run(self, row: Scenario) -> Any:
        run = self._runs.get(row.pk)
        return ProgressSerializer(run).data if run else None

    @extend_schema_field(ScenarioFiguresSerializer(allow_null=True))
    def get_figures(self, row: Scenario) -> Any:
        beside = [one for one in self._compared if one.scenario in (None, row)]
        if not beside or beside[-1].scenario is None:
            return None
        if self._costs:  # of each as if it were asked for alone, or its etag would be another
            beside = priced(beside, self._costs)
        return ScenarioFiguresSerializer(beside[-1], context=self.context).data

    @cached_property
    def _rows(self) -> Sequence[Scenario]:
        """All rows of the answer, for which the following are read at once."""
        if isinstance(self.parent, serializers.ListSerializer):
            return list(self.parent.instance or ())
        return [self.instance] if self.instance else []

    @cached_property
    def _runs(self) -> Mapping[int, PlanRun]:
        return scenario_runs(self._rows)

    @cached_property
    def _compared(self) -> Sequence[PlanFigures]:
        return compared(self.context["company"], self._rows)

    @cached_property
    def _costs(self) -> Mapping[int, PlanCost]:
        plans = [one.plan for one in self._compared if self.context.get("may_plan")]
        planned = any(one.scenario for one in self._compared)
        return plan_costs(self.context["company"], plans) if plans and planned else {}

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        if "name" in values:
            yield from name_faults(self.context["company"], values["name"], self.instance)


class ScenarioListing(Listing):
    name = serializers.CharField(required=False, help_text="exactly")


class Scenarios(Editable[Scenario]):
    """Questions about the working plan. What is planned for one is never published."""

    model = Scenario
    lookup_value_converter = "scenario"
    serializer_class = ScenarioSerializer
    query = ScenarioListing
    related = ("base",)

    def check_query(self, request: Request) -> None:
        super().check_query(request)
        look_after_runs(now=self.now())

    def make(self, values: Mapping[str, Any]) -> Scenario:
        changes = [read_change(change) for change in values.get("changes", [])]
        company = self.company(self.request)
        try:
            return make_scenario(
                company=company, name=values["name"], now=self.now(), changes=changes
            )
        except InputFaults as error:  # there are too many
            raise Conflict(_said(error)) from None

    def edit(self, row: Scenario, values: Mapping[str, Any]) -> None:
        changes = values.get("changes")
        edit_scenario(
            scenario=row,
            version=row.version,
            name=values.get("name"),
            changes=None if changes is None else [read_change(change) for change in changes],
        )

    def remove(self, row: Scenario) -> None:
        discard_scenario(scenario=row, version=row.version)

    @described_as(request=None, responses={ACCEPTED: ScenarioSerializer})
    @action(detail=True, methods=["post"])
    def plan(self, request: Request, public_id: UUID) -> Response:
        """Plan for it, beside all else. Poll its Location until its run is done or failed. Refused
        where it became the working plan."""
        if not can_plan(self.company(request)):
            raise Conflict("There is no house to plan, or no crew.")
        row = self.row(public_id)
        try:
            request_scenario_run(scenario=row, now=self.now())
        except InputFaults as error:
            raise Conflict(_said(error)) from None
        return self.changed(row, status=ACCEPTED)

    @described_as(request=None, responses={ACCEPTED: ScenarioSerializer})
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Ask its run to end now with the best plan so far; refused where none goes on."""
        row = self.row(public_id)
        run = scenario_runs([row]).get(row.pk)
        if run is None or not stop_run(run=run):
            raise Overtaken("over", "Nothing is being planned for it.")
        return self.changed(row, status=ACCEPTED)

    @described_as(request=None, responses={201: ScenarioSerializer})
    @action(detail=True, methods=["post"])
    def copy(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Make another with the same changes, for which nothing is planned yet."""
        try:
            copy = copy_scenario(scenario=self.row(public_id), now=self.now())
        except InputFaults as error:
            raise Conflict(_said(error)) from None
        return self.changed(copy, status=201)

    @described_as(request=None, responses=ScenarioSerializer)
    @action(detail=True, methods=["post"], url_path="work-on")
    def work_on(self, request: Request, public_id: UUID) -> Response:
        """Make its changes true of the company and its plan the working plan, or neither; refused,
        with the reason, where the plan breaks a rule or counts on what nobody can make, and where
        it was done before: nothing is planned for it any more then. Copy it to ask again."""
        company, row = self.company(request), self.row(public_id)
        zone = ZoneInfo(company.zone)
        try:
            adopt_scenario(scenario=row, version=row.version, by=self.who(), now=self.now())
        except AdoptError as error:
            said = refusal_sentence(error.code, error.values, zone)
            raise Overtaken(error.code, said) from None
        except StaleRowsError:
            raise Overtaken("stale", refusal_sentence("stale", {}, zone)) from None
        except InputFaults as error:
            said = refusal_sentence("refused", {"why": _said(error)}, zone)
            raise Overtaken("refused", said) from None
        return self.changed(row)


def _said(error: InputFaults) -> str:
    return " ".join(fault.text for fault in error.faults)
