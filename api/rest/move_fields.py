"""What is answered of moving a visit by hand: whether it holds, and what comes of it."""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any

from rest_framework import serializers

from api.rest.fields import Instant, OwnRelated
from api.rest.planned_work import PlannedVisitSerializer
from api.rest.query import Query
from api.rest.serializers import Strict
from finishing.models import Crew
from finishing.services.errors import Fault
from scheduling.models import PlannedTask
from scheduling.move_wording import answer_sentence, gives_way_sentence, piece_sentence
from scheduling.queries.planned_visits import visit_id
from scheduling.services.moving import TICK, MoveAnswer, Spot


class SpotSerializer(serializers.Serializer[Any]):
    crew = OwnRelated(Crew, read_only=True)
    starts_at = Instant(help_text="its work, set-up not included")


class StaysSerializer(serializers.Serializer[Any]):
    task = serializers.CharField(help_text="key of a piece of work that cannot be moved")
    code = serializers.CharField(help_text="begun or gone (done, or on hold)")
    text = serializers.CharField()


class BrokenSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="of the rule")
    task = serializers.CharField(help_text="key of the first piece that breaks it")
    at = Instant(help_text="when that would start")
    other = serializers.CharField(help_text="the work that it breaks it with, or blank")


class GivesWaySerializer(serializers.Serializer[Any]):
    visit = serializers.UUIDField(help_text="that cannot stay where it is")
    code = serializers.CharField(help_text="of the rule")
    is_told = serializers.BooleanField(help_text="crews have been told of it")
    text = serializers.CharField()


class MoveAnswerSerializer(serializers.Serializer[Any]):
    holds = serializers.BooleanField()
    text = serializers.CharField()
    ends_at = Instant(allow_null=True)
    is_frozen = serializers.BooleanField(help_text="told and near: plans leave it, a pin does not")
    stays = StaysSerializer(many=True, help_text="why it cannot be moved at all")
    breaks = BrokenSerializer(allow_null=True, help_text="the rule; null: none")
    nearest = SpotSerializer(allow_null=True, help_text="that would do; null: none is known")
    gives_way = GivesWaySerializer(many=True, help_text="other visits, of a spot that will do")


class StandingVisitSerializer(serializers.Serializer[Any]):
    """A visit of a plan, and whether it is of the plan as it is."""

    visit = PlannedVisitSerializer()
    is_current = serializers.BooleanField(help_text="of the working plan")
    now = serializers.UUIDField(
        allow_null=True, help_text="the visit with its work in the working plan, where it is older"
    )
    stays = serializers.CharField(help_text="why it cannot be moved; blank: it can")
    pins = serializers.ListField(child=serializers.UUIDField(), help_text="of its work")
    seen = serializers.CharField(help_text="tells its pins from later ones: send it with a new pin")


def spot_faults(values: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield what no visit can be moved to, whatever else there is."""
    crew, at = values.get("crew"), values.get("starts_at")
    if crew is not None and not crew.is_active:
        yield Fault("crew", "gets no new work")
    if at is not None and timedelta(minutes=at.minute, seconds=at.second) % TICK:
        yield Fault("starts_at", "does not go by five minutes")


class SpotQuery(Query):
    crew = OwnRelated(Crew)
    starts_at = Instant(help_text="its work, set-up not included; by five minutes")

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        yield from spot_faults(values)


class NewPinSerializer(Strict):
    planned_visit = OwnRelated(PlannedTask, help_text="id of a planned visit")
    crew = OwnRelated(Crew)
    starts_at = Instant(help_text="its work, set-up not included; by five minutes")
    seen = serializers.CharField(
        allow_blank=True, max_length=80, help_text="as the planned visit has it"
    )

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        yield from spot_faults(values)


def answer_body(answer: MoveAnswer) -> dict[str, Any]:
    """Return an answer as ``MoveAnswerSerializer`` takes it."""
    broken = answer.in_the_way
    return {
        "holds": answer.holds,
        "text": answer_sentence(answer),
        "ends_at": answer.ends_at,
        "is_frozen": answer.is_frozen,
        "stays": [
            {"task": one.piece.key, "code": one.code, "text": piece_sentence(one)}
            for one in answer.stays
        ],
        "breaks": broken
        and {
            "code": broken.code,
            "task": broken.piece.key,
            "at": broken.at,
            "other": broken.other,
        },
        "nearest": answer.nearest,
        "gives_way": [
            {
                "visit": visit_id(one.block),
                "code": one.code,
                "is_told": one.is_told,
                "text": gives_way_sentence(one),
            }
            for one in answer.gives_way
        ],
    }


def spot_of(values: Mapping[str, Any]) -> Spot:
    return Spot(values["crew"], values["starts_at"])
