"""What is answered of plans: their figures, promises, work on hold, and what a proposal changes."""

from collections.abc import Mapping
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.rest.fields import Instant, OwnRelated
from api.rest.serializers import RowSerializer
from scheduling.models import Plan, PlanRun, Publication
from scheduling.wording import hold_sentence

STANDINGS = ("published", "working", "open", "over")


class ItemSerializer(serializers.Serializer[Any]):
    item = serializers.CharField()
    owed_by = serializers.CharField()


class HoldSerializer(serializers.Serializer[Any]):
    """Work that could not be planned."""

    code = serializers.CharField(help_text="why")
    house = serializers.UUIDField(source="house_id")
    area = serializers.CharField(help_text="by name; blank: of the whole house")
    stages = serializers.ListField(child=serializers.CharField())
    items = ItemSerializer(many=True, help_text="of readiness, that are open")
    job = serializers.CharField(help_text="an odd job by name, or blank")
    tasks = serializers.IntegerField(help_text="so many")
    heat_on_by = serializers.DateField(allow_null=True)
    text = serializers.SerializerMethodField()

    def get_text(self, hold: Mapping[str, Any]) -> str:
        return hold_sentence(hold)


class PromiseSerializer(serializers.Serializer[Any]):
    house = serializers.UUIDField(source="house_id")
    areas = serializers.ListField(child=serializers.CharField(), help_text="none: all of the house")
    due_on = serializers.DateField()
    state = serializers.ChoiceField(["planned", "held", "done"])
    met_at = Instant(allow_null=True)
    late_minutes = serializers.IntegerField()


class SpanSerializer(serializers.Serializer[Any]):
    crew = serializers.CharField(help_text="by name, as it was")
    starts_at = Instant()
    ends_at = Instant()


class MovedVisitSerializer(serializers.Serializer[Any]):
    """A published visit of which something is elsewhere in the proposal."""

    house = serializers.CharField(help_text="by name, as it was")
    stages = serializers.ListField(child=serializers.CharField())
    before = SpanSerializer(source="from")
    after = SpanSerializer(source="to", many=True, help_text="none: it is not planned")
    other_day_or_crew = serializers.BooleanField()


class MovedPromiseSerializer(serializers.Serializer[Any]):
    house = serializers.CharField(help_text="by name, as it was")
    areas = serializers.ListField(child=serializers.CharField())
    due_on = serializers.DateField()
    state = serializers.CharField()
    met_before = Instant(source="before", allow_null=True)
    met_after = Instant(source="after", allow_null=True)
    late_minutes_before = serializers.IntegerField(source="late_before", allow_null=True)
    late_minutes_after = serializers.IntegerField(source="late_after")


class FiguresSerializer(serializers.Serializer[Any]):
    visits_moved = serializers.IntegerField(help_text="to another day or crew")
    crews_changed = serializers.IntegerField(help_text="tasks with another crew")
    total_shift_h = serializers.FloatField(
        source="total_shift_hours", help_text="of starts, in working hours"
    )
    largest_shift_h = serializers.FloatField(source="largest_shift_hours")
    reversals = serializers.IntegerField(help_text="pairs of tasks in another order")


class PaidSerializer(serializers.Serializer[Any]):
    idle_minutes = serializers.IntegerField()
    travel_minutes = serializers.IntegerField()
    extra_minutes = serializers.IntegerField(help_text="of overtime and extra days")


class ChangeSerializer(serializers.Serializer[Any]):
    """How a proposal differs from what crews have been told."""

    figures = FiguresSerializer()
    next_days = FiguresSerializer(source="soon", help_text="today and the two days after")
    new_visits = serializers.IntegerField(source="new")
    dropped_visits = serializers.IntegerField(source="dropped")
    holds_until = Instant(allow_null=True, help_text="when the first work begins that it changes")
    travel_minutes = serializers.IntegerField()
    extra_minutes = serializers.IntegerField()
    told = PaidSerializer(help_text="the same of what crews have been told")
    is_least_proved = serializers.BooleanField(
        source="least", help_text="no plan of as much work changes less"
    )
    moved_visits = MovedVisitSerializer(source="moves", many=True)
    handovers = MovedPromiseSerializer(many=True)


class PlanSerializer(RowSerializer[Plan]):
    """A verified plan; it never changes, but for how it stands."""

    run = OwnRelated(PlanRun, read_only=True, allow_null=True)
    base = OwnRelated(
        Publication, read_only=True, allow_null=True, help_text="what a proposal changes"
    )
    kind = serializers.ChoiceField(
        Plan.Kind.choices, allow_blank=True, help_text="of a proposal; blank: a plan to work on"
    )
    standing = serializers.SerializerMethodField(
        help_text="published: crews see it; open: a proposal that may be accepted"
    )
    created_at = Instant()
    lateness_minutes = serializers.IntegerField(help_text="of all handovers, weighted")
    visits = serializers.IntegerField()
    idle_minutes = serializers.IntegerField(help_text="within days")
    holds = HoldSerializer(many=True)
    handovers = PromiseSerializer(many=True)
    change = serializers.SerializerMethodField(help_text="null: it is no proposal")

    @extend_schema_field(serializers.ChoiceField(STANDINGS))
    def get_standing(self, plan: Plan) -> str:
        said: str = self.context["states"].of(plan)
        return said

    @extend_schema_field(ChangeSerializer(allow_null=True))
    def get_change(self, plan: Plan) -> Any:
        return ChangeSerializer(plan.change).data if plan.change else None
