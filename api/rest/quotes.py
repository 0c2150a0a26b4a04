"""/api/v1/quotes/: houses that are not yet won. Only who plans may see them."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.costs import CostSerializer
from api.rest.described import described_as
from api.rest.errors import Conflict, Overtaken
from api.rest.fields import Day, Instant, Number, OwnRelated, Text
from api.rest.plan_fields import HoldSerializer
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.runs import ACCEPTED, ProgressSerializer
from api.rest.serializers import RowSerializer, Strict
from finishing.models import House, Quote
from finishing.models.house import LIMITS
from finishing.models.quote import MARGIN_PERCENT
from finishing.queries.rights import Right
from finishing.services.errors import Fault, InputFaults
from finishing.services.quotes import (
    MOST_M2,
    MOST_ROOMS,
    QUOTE_DEFAULTS,
    change_quote,
    make_quote,
    quote_faults,
    remove_quote,
    win_quote,
)
from scheduling.jobs import look_after_runs, request_quote_run
from scheduling.queries.runs import quote_runs
from scheduling.services.quotes import cost_found, price_found
from scheduling.services.stop import stop_run


class QuotedRoomSerializer(Strict):
    name = Text(max_length=120)
    walls_m2 = Number(min_value=0, max_value=MOST_M2)
    ceiling_m2 = Number(min_value=0, max_value=MOST_M2)


class FoundSerializer(serializers.Serializer[Any]):
    """What a quote comes to beside the plan to work on, whose work stays where it is."""

    found_at = Instant()
    from_takeoff = serializers.BooleanField(
        source="found.from_takeoff",
        default=False,
        help_text="not all of its work finds a place in the plan, so hours, material and costs are"
        " of all of it as taken off, without ways, setting up, washing up and extra hours",
    )
    person_minutes = serializers.IntegerField(source="found.person_minutes")
    compound_kg = serializers.FloatField(
        source="found.material.kg", help_text="as it is put on, with its water"
    )
    powder_kg = serializers.FloatField(
        source="found.material.powder_kg",
        default=None,
        allow_null=True,
        help_text="setting powder to buy for it; null: worked out before this was kept",
    )
    tape_m = serializers.FloatField(source="found.material.tape_m")
    cost = serializers.SerializerMethodField()
    price_minor = serializers.SerializerMethodField(
        help_text="the cost with the margin; null: of some of its work only, found out before"
        " all of it counted without a place in the plan"
    )
    holds = HoldSerializer(source="found.holds", many=True, help_text="what keeps it from a place")
    handover_on = serializers.DateField(
        source="found.handover_on", allow_null=True, help_text="earliest; null: not all is planned"
    )
    in_time = serializers.FloatField(
        source="found.in_time", allow_null=True, help_text="odds of that day; null: not known"
    )
    holds_on = serializers.DateField(
        source="found.holds_on", allow_null=True, help_text="done by then in 8 of 10"
    )

    @extend_schema_field(CostSerializer)
    def get_cost(self, row: Quote) -> Any:
        return CostSerializer(cost_found(row)).data

    def get_price_minor(self, row: Quote) -> int | None:
        return price_found(row)


class QuoteSerializer(RowSerializer[Quote]):
    name = Text(max_length=120, help_text="of the house to be")
    address = Text(max_length=250, required=False, allow_blank=True)
    opens_on = Day(help_text="its first day for finishing work")
    like = OwnRelated(House, required=False, allow_null=True, help_text="null: it has rooms")
    rooms = QuotedRoomSerializer(  # type: ignore[call-arg]
        many=True, required=False, max_length=MOST_ROOMS, help_text="where it is like no house"
    )
    level = Text(max_length=4, required=False, allow_blank=True, help_text="of its rooms")
    setpoint_c = Number(
        min_value=LIMITS["setpoint_c"][0],
        max_value=LIMITS["setpoint_c"][1],
        required=False,
        allow_null=True,
        help_text="that it will be held at; the house that it is like lends none; null: not heated",
    )
    heated_from = Day(required=False, allow_null=True, help_text="null: before its first day")
    margin_percent = Number(
        min_value=MARGIN_PERCENT[0], max_value=MARGIN_PERCENT[1], required=False
    )
    won = OwnRelated(House, read_only=True, allow_null=True, help_text="the house it became")
    run = serializers.SerializerMethodField(
        help_text="newest that works it out; null: it was never asked for"
    )
    found = serializers.SerializerMethodField(
        help_text="by the last run that was done; null: none was"
    )

    @extend_schema_field(ProgressSerializer(allow_null=True))
    def get_run(self, row: Quote) -> Any:
        run = quote_runs([row]).get(row.pk)
        return ProgressSerializer(run).data if run else None

    @extend_schema_field(FoundSerializer(allow_null=True))
    def get_found(self, row: Quote) -> Any:
        return FoundSerializer(row).data if row.found else None

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = {**QUOTE_DEFAULTS, **self.together(values, self.instance)}
        if "name" in said:  # else that is the fault
            yield from quote_faults(self.context["company"], said, self.instance)


class WonSerializer(Strict):
    handover_on = Day(help_text="by which the house is promised")


class Quotes(Editable[Quote]):
    """Houses to be priced. No plan, calendar or list of houses knows of one before it is won."""

    needs = Right.PLAN
    model = Quote
    lookup_value_converter = "quote"
    serializer_class = QuoteSerializer
    query = Listing
    related = ("like__company", "like__air_source", "won")

    def check_query(self, request: Request) -> None:
        super().check_query(request)
        look_after_runs(now=self.now())

    def make(self, values: Mapping[str, Any]) -> Quote:
        return make_quote(company=self.company(self.request), values={**QUOTE_DEFAULTS, **values})

    def edit(self, row: Quote, values: Mapping[str, Any]) -> None:
        _or_conflict(lambda: change_quote(quote=row, version=row.version, values=values))

    def remove(self, row: Quote) -> None:
        remove_quote(quote=row, version=row.version)

    @described_as(request=None, responses={ACCEPTED: QuoteSerializer})
    @action(detail=True, methods=["post"], url_path="work-out")
    def work_out(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Find out what it comes to beside the plan to work on. Poll its Location until its run is
        done or failed; what was found before stays until then. Refused where it can be no house."""
        row = self.row(public_id)
        _or_conflict(lambda: request_quote_run(quote=row, now=self.now()))
        return self.changed(row, status=ACCEPTED)

    @described_as(request=None, responses={ACCEPTED: QuoteSerializer})
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Ask its run to end its search now, with the best it has found; refused where none goes
        on."""
        row = self.row(public_id)
        run = quote_runs([row]).get(row.pk)
        if run is None or not stop_run(run=run):
            raise Overtaken("over", "It is not being worked out.")
        return self.changed(row, status=ACCEPTED)

    @described_as(request=WonSerializer, responses=QuoteSerializer)
    @action(detail=True, methods=["post"])
    def win(self, request: Request, public_id: UUID) -> Response:
        """Make the house that it speaks of, to be planned from now on; refused where it is won
        already, or can be no house."""
        sent = WonSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        row, due = self.row(public_id), sent.validated_data["handover_on"]
        asked = {"version": row.version, "handover_on": due}
        _or_conflict(lambda: win_quote(quote=row, **asked, by=self.who(), now=self.now()))
        return self.changed(row)


def _or_conflict[T](do: Callable[[], T]) -> T:
    """Return what is done; a conflict where what is stored is in the way."""
    try:
        return do()
    except InputFaults as error:
        raise Conflict(" ".join(fault.text for fault in error.faults)) from None
