"""/api/v1/labour-rates/: what work takes, where the company says it differs from the usual."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.fields import Choice, Day, Number, Text
from api.rest.query import Listing
from api.rest.resource import CompanyResource
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer, Spelt
from finishing.models import Change, LabourRate
from finishing.models.rate import MOST_MINUTES
from finishing.rules.labour import DEFAULT_RATES, Rate
from finishing.rules.vocabulary import JointKind, Stage
from finishing.services.errors import Fault
from finishing.services.rates import RateLine, edit_rates, own_rates, rate_faults

USUAL: Mapping[tuple[str, str], Rate] = {(rate.stage, rate.kind): rate for rate in DEFAULT_RATES}
UNITS = ("m", "m2", "each")


class LabourRateSerializer(RowSerializer[LabourRate]):
    stage = Choice([stage.value for stage in Stage], help_text="stays")
    kind = Choice([kind.value for kind in JointKind], help_text="stays")
    person_minutes_per_unit = Number(source="minutes", min_value=0, max_value=MOST_MINUTES)
    unit = serializers.SerializerMethodField(help_text="metre, square metre or piece")
    where_from = Text(max_length=200, help_text="where the figure comes from")
    dated = Day(help_text="since when it holds")

    spelt = {"where_from": "source"}
    fixed = ("stage", "kind")

    @extend_schema_field(serializers.ChoiceField(UNITS))
    def get_unit(self, row: LabourRate) -> str:
        return USUAL[row.stage, row.kind].per

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        company = self.context["company"]
        key = (values.get("stage", ""), values.get("kind", ""))
        if self.instance:
            key = (self.instance.stage, self.instance.kind)
        elif key in own_rates(company):
            yield Fault("kind", "The company has a rate for this already: change that one.")
        said = self.together(values, self.instance)
        about = {*said, "kind"} if all(key) else {*said}
        for fault in rate_faults(company, [_line(*key, said)]):
            name = fault.place.removeprefix("rate-")
            if name in about:  # what is missing says so itself
                yield replace(fault, place=name)


def _line(stage: str, kind: str, values: Mapping[str, Any], version: int = 0) -> RateLine:
    said = {name: values[name] for name in ("minutes", "source", "dated") if name in values}
    return RateLine("rate", stage, kind, version=version, **said)


class LabourRateListing(Listing):
    stage = Choice([stage.value for stage in Stage], required=False)
    kind = Choice([kind.value for kind in JointKind], required=False)


class LabourRates(Editable[LabourRate]):
    """The company's own rates; one that is removed is the usual one again."""

    model = LabourRate
    lookup_value_converter = "labour_rate"
    serializer_class = LabourRateSerializer
    query = LabourRateListing
    logs = (Change.What.RATE,)

    def make(self, values: Mapping[str, Any]) -> LabourRate:
        company = self.company(self.request)
        edit_rates(company=company, lines=[_line(values["stage"], values["kind"], values)])
        return own_rates(company)[values["stage"], values["kind"]]

    def edit(self, row: LabourRate, values: Mapping[str, Any]) -> None:
        said = {"minutes": row.minutes, "source": row.source, "dated": row.dated, **values}
        self._put(_line(row.stage, row.kind, said, row.version))

    def remove(self, row: LabourRate) -> None:
        self._put(RateLine("rate", row.stage, row.kind, version=row.version))

    def _put(self, line: RateLine) -> None:
        edit_rates(company=self.company(self.request), lines=[line])


class UsualRateSerializer(Spelt):
    stage = serializers.ChoiceField([stage.value for stage in Stage])
    kind = serializers.ChoiceField([kind.value for kind in JointKind])
    person_minutes_per_unit = serializers.FloatField(help_text="unless the company says otherwise")
    unit = serializers.ChoiceField(UNITS)
    where_from = serializers.CharField()
    dated = serializers.DateField()

    spelt = {"where_from": "source"}


class UsualRatesSerializer(serializers.Serializer[Any]):
    rates = UsualRateSerializer(many=True)


class UsualRates(CompanyResource):
    @described_as(responses=UsualRatesSerializer)
    def get(self, request: Request) -> Response:  # noqa: ARG002
        """Return what work takes where the company has no rate of its own: every stage and kind
        that a rate can be given for."""
        rates = [
            {
                "stage": rate.stage,
                "kind": rate.kind,
                "person_minutes_per_unit": rate.minutes,
                "unit": rate.per,
                "source": rate.source,
                "dated": rate.dated,
            }
            for rate in DEFAULT_RATES
        ]
        return Response(UsualRatesSerializer({"rates": rates}).data)
