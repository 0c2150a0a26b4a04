"""GET /api/v1/odds/: how likely each handover is, given what the air may still do."""

from typing import Any

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Conflict
from api.rest.resource import CompanyResource
from finishing.rules.histories import LEAST_DAYS
from scheduling.services.kept_answers import kept_answer
from scheduling.services.odds import NothingPlannedError, current_odds
from scheduling.services.source_histories import TooLittleAirError


class TooLittleAirSerializer(serializers.Serializer[Any]):
    air_source = serializers.CharField()
    days = serializers.IntegerField(help_text=f"of the season on record; {LEAST_DAYS} are needed")


class EnsembleSerializer(serializers.Serializer[Any]):
    air_source = serializers.CharField()
    members = serializers.IntegerField()
    fetched_at = serializers.DateTimeField()
    until = serializers.DateTimeField(help_text="the air after that is drawn from the record")


class HandoverOddsSerializer(serializers.Serializer[Any]):
    house = serializers.CharField()
    areas = serializers.ListField(child=serializers.CharField())
    due_on = serializers.DateField()
    in_time = serializers.FloatField(
        allow_null=True,
        help_text="share of histories; null: not all of its work is planned, or its air is lacking",
    )
    holds_on = serializers.DateField(
        allow_null=True, help_text="done by then in 8 of 10; null: there is no such day"
    )
    mean_late_minutes = serializers.FloatField()
    lacking = TooLittleAirSerializer(
        allow_null=True, help_text="a record too short to draw from; null: it is long enough"
    )


class OddsSerializer(serializers.Serializer[Any]):
    histories = serializers.IntegerField(help_text="of the air, that were drawn")
    mean_late_days = serializers.FloatField(help_text="weighted, over all handovers")
    mean_in_vain = serializers.FloatField(help_text="visits that find a coat wet")
    handovers = HandoverOddsSerializer(many=True)
    ensembles = EnsembleSerializer(
        many=True, help_text="of forecasts, whose members the histories follow as far as they reach"
    )


class Odds(CompanyResource):
    conflicts = ("GET",)

    @described_as(responses=OddsSerializer)
    def get(self, request: Request) -> Response:
        """Return the odds of what is published, or else of the working plan."""
        try:
            found = kept_answer(current_odds, company=self.company(request), now=timezone.now())
        except NothingPlannedError:
            raise Conflict("No work is planned yet.") from None
        except TooLittleAirError as error:
            raise Conflict(f"{error}, at least {LEAST_DAYS} are needed") from None
        return Response(OddsSerializer(found).data)
