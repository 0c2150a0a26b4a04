"""What is answered of the work in a plan: its tasks, and the visits that they make."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.rest.fields import Instant, OwnRelated
from api.rest.query import Listing, Query
from finishing.models import Area, Crew, House
from finishing.services.errors import Fault
from scheduling.models import PlannedTask
from scheduling.queries.planned_visits import visit_id
from scheduling.queries.visits import Block
from scheduling.wording import why_sentence

USUAL, LONGEST = timedelta(days=14), timedelta(days=92)


class WhySerializer(serializers.Serializer[Any]):
    """Why a task is not earlier: what lets go of it last."""

    code = serializers.CharField(help_text="blank: nothing is known")
    reason = serializers.CharField(help_text="of a wait: what it is for")
    other = serializers.CharField(help_text="key of the other task, or blank")
    until = Instant(allow_null=True)
    text = serializers.CharField()


class TaskSerializer(serializers.Serializer[Any]):
    id = serializers.UUIDField(source="public_id")
    key = serializers.CharField(help_text="the same in every plan: room or job, stage, part")
    crew = OwnRelated(Crew, read_only=True)
    house = OwnRelated(House, read_only=True)
    area = OwnRelated(Area, read_only=True, allow_null=True)
    room = serializers.SerializerMethodField(help_text="by name; of an odd job blank")
    job = serializers.SerializerMethodField(help_text="an odd job by name; else blank")
    stage = serializers.CharField()
    starts_at = Instant()
    ends_at = Instant()
    ready_at = Instant(allow_null=True, help_text="when what it leaves is planned to be dry or set")
    person_minutes = serializers.SerializerMethodField()
    why = serializers.SerializerMethodField(help_text="it is not earlier")

    def get_room(self, task: PlannedTask) -> str:
        return str(task.details.get("room", ""))

    def get_job(self, task: PlannedTask) -> str:
        return str(task.details.get("job", ""))

    def get_person_minutes(self, task: PlannedTask) -> float:
        return float(task.details.get("person_minutes", 0))

    @extend_schema_field(WhySerializer)
    def get_why(self, task: PlannedTask) -> Any:
        why = task.details.get("why") or {}
        codes = {name: why.get(name, "") for name in ("code", "reason", "other")}
        text = why_sentence(why, ZoneInfo(task.crew.zone))
        return WhySerializer({**codes, "until": why.get("ready_at"), "text": text}).data


class VisitTaskSerializer(serializers.Serializer[Any]):
    key = serializers.CharField()
    stage = serializers.CharField()
    starts_at = Instant()
    ends_at = Instant()


class PlannedVisitSerializer(serializers.Serializer[Any]):
    """A crew at a house for one unbroken block of work, set-up and wash-up included."""

    id = serializers.SerializerMethodField()
    crew = OwnRelated(Crew, read_only=True)
    house = OwnRelated(House, read_only=True)
    starts_at = Instant()
    ends_at = Instant()
    tasks = VisitTaskSerializer(many=True)

    def get_id(self, block: Block) -> UUID:
        return visit_id(block)


class TaskListing(Listing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    house = serializers.UUIDField(required=False, source="house__public_id")
    stage = serializers.CharField(required=False, max_length=20)
    starts_from = Instant(required=False, source="starts_at__gte")
    starts_to = Instant(required=False, source="starts_at__lt", help_text="itself not included")


class VisitQuery(Query):
    """Which visits of a plan are asked for."""

    crew = serializers.UUIDField(required=False)
    house = serializers.UUIDField(required=False)
    overlaps_from = Instant(required=False, help_text="now if left out")
    overlaps_to = Instant(
        required=False,
        help_text=f"{USUAL.days} days after overlaps_from if left out, at most {LONGEST.days}",
    )

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        values = super().to_internal_value(data)
        return {**values, "span": _span(values)}

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        first, last = _span(values)
        if last <= first:
            yield Fault("overlaps_to", "is not after overlaps_from")
        elif last - first > LONGEST:
            yield Fault("overlaps_to", f"is more than {LONGEST.days} days after overlaps_from")


def _span(values: Mapping[str, Any]) -> tuple[datetime, datetime]:
    first = values.get("overlaps_from") or timezone.now()
    return first, values.get("overlaps_to") or first + USUAL
