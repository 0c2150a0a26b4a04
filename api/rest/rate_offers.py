"""/api/v1/rate-offers/: the company's labour rates out of its crews' reports."""

from typing import Any

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.access import who_asks
from api.rest.described import described_as
from api.rest.errors import Overtaken
from api.rest.fields import Choice, Instant, Text
from api.rest.resource import CompanyResource
from api.rest.serializers import Strict
from finishing.models import Change
from finishing.rules.reported_rates import LEAST_JOBS
from finishing.rules.vocabulary import Stage
from finishing.services.rows import StaleRowsError
from scheduling.services.rate_offers import decline_rates, rate_offers, take_rates

ANSWERS = {"take": take_rates, "decline": decline_rates}


class ChangedRateSerializer(serializers.Serializer[Any]):
    kind = serializers.CharField()
    present = serializers.FloatField(source="now", help_text="person-minutes per unit")
    reported = serializers.FloatField(help_text="person-minutes per unit")


class RateOfferSerializer(serializers.Serializer[Any]):
    stage = serializers.ChoiceField([stage.value for stage in Stage])
    jobs = serializers.IntegerField(source="found.jobs", help_text=f"at least {LEAST_JOBS}")
    factor = serializers.FloatField(
        source="found.factor", help_text="median of the jobs' time over that by the present rates"
    )
    spread = serializers.FloatField(
        source="found.spread", help_text="of single jobs, as a share of the factor"
    )
    low = serializers.FloatField(source="found.low", help_text="it lies above in 9 of 10")
    high = serializers.FloatField(source="found.high")
    least = serializers.FloatField(source="found.least", help_text="the quickest job")
    most = serializers.FloatField(source="found.most", help_text="the slowest job")
    is_open = serializers.BooleanField(help_text="the rates differ, and nobody has declined")
    declined_at = Instant(source="declined.declined_at", allow_null=True, default=None)
    rates = ChangedRateSerializer(many=True, help_text="that would change")
    seen_as = serializers.CharField(help_text="to be named by an answer")


class RateOffersSerializer(serializers.Serializer[Any]):
    offers = RateOfferSerializer(many=True)
    too_few = serializers.DictField(
        child=serializers.IntegerField(), help_text="jobs of stages of which nothing is said yet"
    )
    mixed_jobs = serializers.IntegerField(help_text="of several stages: they speak for none")


class RateAnswerSerializer(Strict):
    stage = Choice([stage.value for stage in Stage])
    seen_as = Text(max_length=60, help_text="as the offer said")
    answer = Choice([*ANSWERS], help_text="take: its rates hold from today on")


class RateOffers(CompanyResource):
    logs = (Change.What.RATE,)

    @described_as(responses=RateOffersSerializer)
    def get(self, request: Request) -> Response:
        """Return what the reports of the last year say of each stage's rates."""
        return Response(self._said(request))

    @described_as(request=RateAnswerSerializer, responses=RateOffersSerializer)
    def post(self, request: Request) -> Response:
        """Take an offer, or decline it until there are more jobs; return those that are left."""
        sent = RateAnswerSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        said = dict(sent.validated_data)
        answer = ANSWERS[said.pop("answer")]
        try:
            answer(company=self.company(request), by=who_asks(request), now=timezone.now(), **said)
        except StaleRowsError:
            raise Overtaken("another_offer", "There is no such offer any more.") from None
        return Response(self._said(request))

    def _said(self, request: Request) -> dict[str, Any]:
        found = rate_offers(company=self.company(request), now=timezone.now())
        said = {
            "offers": found.offers,
            "too_few": found.evidence.too_few,
            "mixed_jobs": found.evidence.mixed,
        }
        return dict(RateOffersSerializer(said).data)
