"""What is answered of a publication's visits: those of two revisions, and those to be told."""

from collections.abc import Iterator
from typing import Any

from rest_framework import serializers

from api.rest.fields import Instant, OwnRelated
from api.rest.query import Query
from finishing.models import Crew, House
from scheduling.models import Plan, Publication, Visit
from scheduling.publish_wording import held_back_sentence
from scheduling.services.publish import Pending

KINDS = ("new", "moved", "cancelled")


class RevisedVisitSerializer(serializers.Serializer[Any]):
    visit = serializers.CharField(
        source="visit_id", help_text="id; blank where it was published before ids were kept"
    )
    house = OwnRelated(House, read_only=True)
    crew = serializers.CharField(help_text="by name, as it was")
    kind = serializers.ChoiceField(KINDS)
    before = Instant(allow_null=True, help_text="when it was to start")
    after = Instant(allow_null=True, help_text="the same: only its work has changed")


class RevisedSerializer(serializers.Serializer[Any]):
    revision = serializers.IntegerField()
    since = serializers.IntegerField(help_text="the revision that it is held against; 0: none")
    visits = RevisedVisitSerializer(many=True, help_text="by time")


class SinceQuery(Query):
    since = OwnRelated(
        Publication, required=False, help_text="an earlier one; the one before if left out"
    )


class PendingVisitSerializer(serializers.Serializer[Any]):
    house = OwnRelated(House, read_only=True)
    crew = OwnRelated(Crew, read_only=True)
    kind = serializers.ChoiceField([*KINDS, "held_back"])
    starts_before = Instant(allow_null=True)
    ends_before = Instant(allow_null=True)
    starts_after = Instant(allow_null=True)
    ends_after = Instant(allow_null=True)
    why = serializers.CharField(help_text="of one that is held back; else blank")


class PendingSerializer(serializers.Serializer[Any]):
    plan = OwnRelated(Plan, read_only=True, help_text="to be named when it is published")
    is_new = serializers.BooleanField(help_text="whether crews would be told anything")
    unchanged = serializers.IntegerField(help_text="visits")
    visits = PendingVisitSerializer(many=True)


def pending_body(pending: Pending) -> dict[str, Any]:
    """Return what publishing would do, as ``PendingSerializer`` takes it."""
    return {
        "plan": pending.plan,
        "is_new": pending.is_new,
        "unchanged": pending.changes.unchanged,
        "visits": list(_visits(pending)),
    }


def _visits(pending: Pending) -> Iterator[dict[str, Any]]:
    changes = pending.changes
    stored = Visit.objects.in_bulk([visit.pk for visit in changes.moved])
    for visit in [*changes.new, *changes.revived]:
        yield _visit("new", visit, after=visit)
    for visit in changes.moved:
        yield _visit("moved", visit, before=stored[visit.pk], after=visit)
    for visit in changes.cancelled:
        yield _visit("cancelled", visit, before=visit)
    for held in pending.held_back:
        yield _visit("held_back", held.block, after=held.block, why=held_back_sentence(held.items))


def _visit(kind: str, of: Any, *, before: Any = None, after: Any = None, why: str = "") -> Any:
    return {
        "house": of.house,
        "crew": of.crew,
        "kind": kind,
        "starts_before": before and before.starts_at,
        "ends_before": before and before.ends_at,
        "starts_after": after and after.starts_at,
        "ends_after": after and after.ends_at,
        "why": why,
    }
