"""/api/v1/pay-terms/, and a crew's pay for a period. Only who plans may see them."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.fields import Choice, Day, Instant, OwnRelated, Text, Whole
from api.rest.query import Listing, Query
from api.rest.resource import CompanyResource
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Change, Crew, PayTerm
from finishing.models.price import MOST_AMOUNT
from finishing.queries.rights import Right
from finishing.rules.vocabulary import Stage
from finishing.services.errors import Fault
from finishing.services.pay_terms import (
    FIELDS,
    add_pay_term,
    change_pay_term,
    pay_term_faults,
    remove_pay_terms,
)
from scheduling.services.pay_sheet import pay_sheet

LONGEST_DAYS = 366
USUAL_DAYS = 7
DEFAULTS: Mapping[str, Any] = {"crew": None, "person": "", "stage": ""}


class PayTermSerializer(RowSerializer[PayTerm]):
    crew = OwnRelated(Crew, required=False, allow_null=True, help_text="null: a person's")
    person = Text(required=False, allow_blank=True, max_length=120, help_text="blank: a crew's")
    stage = Choice(
        ["", *(stage.value for stage in Stage)],
        required=False,
        help_text="by its square metre, to the crew; blank: by the hour, to each person",
    )
    amount_minor = Whole(
        source="amount", min_value=1, max_value=MOST_AMOUNT, help_text="such as cents"
    )
    since = Day(help_text="the first day on which it holds")

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = {**DEFAULTS, **self.together(values, self.instance)}
        if said.keys() >= {*FIELDS}:  # what is missing says so itself
            named = {name: said[name] for name in FIELDS}
            yield from pay_term_faults(self.context["company"], named, self.instance)


class PayTermListing(Listing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")


class PayTerms(Editable[PayTerm]):
    """What crews and people are paid, each from a day on."""

    needs = Right.PLAN
    model = PayTerm
    lookup_value_converter = "pay_term"
    serializer_class = PayTermSerializer
    query = PayTermListing
    related = ("crew",)
    logs = (Change.What.PAY,)

    def make(self, values: Mapping[str, Any]) -> PayTerm:
        return add_pay_term(company=self.company(self.request), values={**DEFAULTS, **values})

    def edit(self, row: PayTerm, values: Mapping[str, Any]) -> None:
        change_pay_term(row=row, version=row.version, values=values)

    def remove(self, row: PayTerm) -> None:
        remove_pay_terms([(row, row.version)])


class PeriodQuery(Query):
    first = Day(required=False, help_text="on the crew's calendar; left out: a week before last")
    last = Day(required=False, help_text="included; left out: today")

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        first, last = period_of(values)
        if not timedelta() <= last - first <= timedelta(days=LONGEST_DAYS):
            yield Fault("last", f"is not within {LONGEST_DAYS} days after first")


def period_of(values: Mapping[str, Any]) -> tuple[date, date]:
    """Return the first and the last day that are asked for."""
    last: date = values.get("last") or timezone.now().date()
    return values.get("first") or last - timedelta(days=USUAL_DAYS - 1), last


class PayLineSerializer(serializers.Serializer[Any]):
    payee = serializers.CharField(help_text="a name; blank: the crew; #1: somebody not planned")
    quantity = serializers.FloatField(help_text="hours of a person, square metres of the crew")
    amount_minor = serializers.IntegerField(source="amount")


class PaidVisitSerializer(serializers.Serializer[Any]):
    visit = serializers.UUIDField(source="reported.visit.public_id")
    day = serializers.DateField()
    starts_at = Instant(source="start")
    is_start_reported = serializers.BooleanField(source="start_said")
    minutes = serializers.IntegerField(
        allow_null=True, help_text="null: no end after its start was reported"
    )
    lines = PayLineSerializer(many=True)
    total_minor = serializers.IntegerField(source="total")
    remarks = serializers.ListField(child=serializers.CharField())


class UnpaidExtraWorkSerializer(serializers.Serializer[Any]):
    extra_work = serializers.UUIDField(source="public_id")
    house = serializers.UUIDField(source="house.public_id")
    at = Instant()
    what = serializers.CharField()
    person_minutes = serializers.IntegerField()


class PaySheetSerializer(serializers.Serializer[Any]):
    first = serializers.DateField()
    last = serializers.DateField()
    visits = PaidVisitSerializer(many=True)
    without_visit = UnpaidExtraWorkSerializer(
        many=True, help_text="extra work whose visit is gone or called off: listed, not paid"
    )
    by_payee_minor = serializers.DictField(
        source="by_payee", child=serializers.IntegerField(), help_text="sums of the visits' lines"
    )
    total_minor = serializers.IntegerField(source="total")


class CrewPay(CompanyResource):
    needs = Right.PLAN

    def check_query(self, request: Request) -> None:
        """It is read once the crew is known to be there."""

    @described_as(parameters=[PeriodQuery], responses=PaySheetSerializer)
    def get(self, request: Request, public_id: UUID) -> Response:
        """Return what a crew is paid for its visits of a period, from its reports."""
        company = self.company(request)
        crew = self.own(request, Crew, public_id)
        first, last = period_of(PeriodQuery.read(request))
        now = timezone.now()
        sheet = pay_sheet(company=company, crew=crew, first=first, last=last, now=now)
        return Response(PaySheetSerializer(sheet).data)
