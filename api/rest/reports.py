"""/api/v1/reports/: what crews have said of their visits."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.core.exceptions import PermissionDenied
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.access import own_crew_only
from api.rest.described import described_as
from api.rest.errors import Overtaken
from api.rest.fields import Instant, OwnRelated
from api.rest.parsers import ReportParser
from api.rest.query import Listing
from api.rest.report_fields import Action, NewReportSerializer
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer
from finishing.models import Crew
from finishing.queries.rights import Right
from finishing.services.errors import Fault, InputFaults
from scheduling.models import SentReport, Visit
from scheduling.services.for_the_office import Hindrance, say_cannot_work, say_extra_work
from scheduling.services.sent_reports import OtherReportError, Sent
from scheduling.services.visit_reports import say_finished, say_not_dry, say_started


class ReportSerializer(RowSerializer[SentReport]):
    client_id = serializers.UUIDField(source="sent_as")
    crew = OwnRelated(Crew, read_only=True)
    visit = OwnRelated(Visit, read_only=True)
    action = serializers.ChoiceField(Action.choices)
    said = serializers.JSONField(help_text="what was said, by the names of a report's fields")
    at = Instant(help_text="when it was so")
    said_at = Instant(help_text="when it came")


class ReportListing(Listing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    visit = serializers.UUIDField(required=False, source="visit__public_id")
    action = serializers.ChoiceField(Action.choices, required=False)
    said_from = Instant(required=False, source="said_at__gte")
    said_to = Instant(required=False, source="said_at__lt", help_text="itself not included")


class Reports(Rows[SentReport]):
    """Reports of crews, from their pages and from other programs."""

    needs = Right.VISITS
    writes = Right.REPORT
    parser_classes = (ReportParser,)
    model = SentReport
    lookup_value_converter = "report"
    serializer_class = ReportSerializer
    query = ReportListing
    related = ("crew", "visit")

    @described_as(
        request=NewReportSerializer, responses={200: ReportSerializer, 201: ReportSerializer}
    )
    def create(self, request: Request) -> Response:
        """Note what a crew says of a visit; 200 where it was noted before. One of a visit that was
        moved away or called off meanwhile is kept, and shown to the office, as any other."""
        context = {"company": self.company(request)}
        report = NewReportSerializer(data=request.data, context=context)
        report.is_valid(raise_exception=True)
        said = report.validated_data
        visit: Visit = said["visit"]
        crew = own_crew_only(request)
        if crew is not None and crew.pk != visit.crew_id:
            raise PermissionDenied
        known = self.get_queryset().filter(sent_as=said["client_id"]).exists()
        sent = Sent(said["client_id"], visit.crew, visit, said.get("at", self.now()), self.now())
        try:
            row = _say(sent, said)
        except OtherReportError as error:
            taken = f"This client_id was given to another report: {error.first.action}."
            raise Overtaken("client_id_taken", taken) from None
        except InputFaults as error:
            raise InputFaults([_placed(fault) for fault in error.faults]) from None
        return self.changed(row, status=200 if known else 201)


PLACES = {"time": "at", "house": "visit", "photo": "photo"}
"""What services call a field of the report; other places are names of work, told in words."""


def _placed(fault: Fault) -> Fault:
    if fault.place in PLACES:
        return Fault(PLACES[fault.place], fault.text)
    return Fault("", str(fault))


def _say(sent: Sent, said: Mapping[str, Any]) -> SentReport:
    match said["action"]:
        case Action.FINISHED:
            left = {one["task"]: one["minutes"] for one in said.get("left", ())}
            return say_finished(sent, left, said.get("people"))
        case Action.NOT_DRY:
            minutes = said.get("again_in_minutes")
            again_in = timedelta(minutes=minutes) if minutes else None
            return say_not_dry(sent, said["wet"], again_in)
        case Action.CANNOT_WORK:
            about = {name: said[name] for name in ("item", "note", "photo") if name in said}
            why = Hindrance(said["reason"], **about)
            return say_cannot_work(sent, why)
        case Action.EXTRA_WORK:
            minutes = said["person_minutes"]
            return say_extra_work(sent, what=said["what"], person_minutes=minutes)
        case _:
            return say_started(sent)
