"""What a report of a crew's may say, by what it is about."""

from base64 import b64decode
from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.rest.fields import Choice, Instant, OwnRelated, Text, Whole
from api.rest.serializers import Strict
from finishing.rules.vocabulary import Readiness
from finishing.services.errors import Fault
from scheduling.models import Obstacle, SentReport, Visit
from scheduling.models.crew_word import MOST_PEOPLE

Action = SentReport.Action
OLDEST = timedelta(days=14)
"""What is older may be of something else altogether."""
MOST_MINUTES, MOST_TASKS = 99 * 60, 500
ASKS: Mapping[str, tuple[str, ...]] = {
    Action.STARTED: (),
    Action.FINISHED: (),
    Action.NOT_DRY: ("wet",),
    Action.CANNOT_WORK: ("reason",),
    Action.EXTRA_WORK: ("what", "person_minutes"),
}
TAKES: Mapping[str, tuple[str, ...]] = {
    Action.STARTED: (),
    Action.FINISHED: ("left", "people"),
    Action.NOT_DRY: ("wet", "again_in_minutes"),
    Action.CANNOT_WORK: ("reason", "item", "note", "photo"),
    Action.EXTRA_WORK: ("what", "person_minutes"),
}
ONLY = sorted({name for names in TAKES.values() for name in names})


@extend_schema_field({"type": "string", "format": "byte"})
class Base64(serializers.Field[bytes, str, str, Any]):
    """Bytes in base64 (RFC 4648), as JSON has them."""

    def to_internal_value(self, data: object) -> bytes:
        try:
            return b64decode(str(data), validate=True)
        except ValueError:
            raise serializers.ValidationError("is not base64") from None


class LeftSerializer(Strict):
    """A task of the visit that is not done."""

    task = Text(max_length=80, help_text="its key, as the visit has it")
    minutes = Whole(
        min_value=1,
        max_value=MOST_MINUTES,
        allow_null=True,
        help_text="of the crew's working time; null: all of it",
    )


class NewReportSerializer(Strict):
    """A report of a published visit; who reports it is the visit's crew."""

    client_id = serializers.UUIDField(help_text="yours: the same report sent again counts once")
    visit = OwnRelated(Visit)
    action = Choice(Action.values)
    at = Instant(required=False, help_text=f"now if left out; at most {OLDEST.days} days ago")
    left = LeftSerializer(many=True, required=False, help_text="finished: what is not done")
    people = Whole(
        required=False,
        min_value=1,
        max_value=MOST_PEOPLE,
        help_text="finished: how many were there; left out: as planned",
    )
    wet = serializers.ListField(
        child=Text(max_length=80),
        required=False,
        allow_empty=False,
        max_length=MOST_TASKS,
        help_text="not_dry: keys of the visit's tasks whose coat below is not dry",
    )
    again_in_minutes = Whole(
        required=False, min_value=1, max_value=7 * 24 * 60, help_text="not_dry: until a next look"
    )
    reason = Choice(Obstacle.Reason.values, required=False, help_text="cannot_work")
    item = Choice(
        [line.value for line in Readiness], required=False, help_text="not_ready: what is not"
    )
    note = Text(required=False, allow_blank=True, max_length=500)
    photo = Base64(
        required=False, help_text="cannot_work: JPEG, PNG or WebP of up to 10 MB, base64"
    )
    what = Text(required=False, max_length=300, help_text="extra_work: what it was")
    person_minutes = Whole(required=False, min_value=1, max_value=200 * 60)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        yield from _own_words(values, self.initial_data)
        yield from _tasks_of(values)
        at, now = values.get("at"), timezone.now()
        if at is not None and at > now:
            yield Fault("at", "is still to come")
        elif at is not None and at < now - OLDEST:
            yield Fault("at", f"is more than {OLDEST.days} days ago")


def _own_words(values: Mapping[str, Any], sent: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield what the action asks for and was not said, and what it has no place for."""
    action = values.get("action")
    if action is None:
        return
    for name in ASKS[action]:
        if name not in sent:
            yield Fault(name, f"is needed for {action}")
    for name in ONLY:
        if name in sent and name not in TAKES[action]:
            yield Fault(name, f"does not belong to {action}")
    if values.get("reason") == Obstacle.Reason.NOT_READY:
        if not (values.get("item") or values.get("note")):
            yield Fault("item", "say what is not ready, here or in note")
    elif values.get("item"):
        yield Fault("item", "belongs to not_ready")


def _tasks_of(values: Mapping[str, Any]) -> Iterator[Fault]:
    visit = values.get("visit")
    if visit is None:
        return
    known = {task["key"] for task in visit.content["tasks"]}
    named = {"left": [one["task"] for one in values.get("left", ())], "wet": values.get("wet", ())}
    for name, keys in named.items():
        if name not in TAKES.get(values.get("action", ""), ()):
            continue
        if strange := sorted(set(keys) - known):
            yield Fault(name, f"is no task of the visit: {', '.join(strange)}")
        elif len(set(keys)) < len(keys):
            yield Fault(name, "names a task twice")
