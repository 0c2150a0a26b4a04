"""/api/v1/feeds/: calendars that crews, builders, people and the office follow."""

from collections.abc import Iterator, Mapping
from functools import partial
from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from rest_framework import serializers

from api.rest.fields import Choice, Instant, OwnRelated, Text, Whole, YesNo
from api.rest.query import Flag, Listing
from api.rest.rows import Edited, Made
from api.rest.secret_addresses import SecretAddresses
from api.rest.serializers import RowSerializer
from finishing.models import Crew, CrewMember, House
from finishing.queries.rights import Right
from finishing.services.errors import Fault
from scheduling.jobs import tell_odds_soon
from scheduling.models import FeedLink
from scheduling.models.link import MOST_WEEKS
from scheduling.services.links import (
    OPTIONS,
    blank_link,
    edit_link,
    feed_address,
)
from scheduling.services.new_feeds import store_feed

SUBJECTS = ("crew", "house", "person")


class FeedSerializer(RowSerializer[FeedLink]):
    kind = serializers.ChoiceField(FeedLink.Kind.choices, read_only=True)
    crew = OwnRelated(Crew, required=False, allow_null=True, help_text="that it is of; stays")
    house = OwnRelated(House, required=False, allow_null=True, help_text="that it is of; stays")
    person = Text(
        max_length=120,
        required=False,
        allow_blank=True,
        help_text="by name, that it is of; stays. Of the whole company where none is named",
    )
    for_whom = Text(max_length=120, required=False, allow_blank=True, help_text="who follows it")
    weeks = Whole(
        min_value=1,
        max_value=MOST_WEEKS,
        required=False,
        allow_null=True,
        help_text="ahead; null: all that is planned",
    )
    language = Choice(
        Crew.Language.values, required=False, allow_blank=True, help_text="blank: the crew's"
    )
    has_alarms = YesNo(required=False, help_text="an hour before each visit")
    shows_drying = YesNo(required=False, help_text="while coats dry: do not touch")
    names_crews = YesNo(required=False, help_text="to the builder of a house")
    address = serializers.SerializerMethodField(
        help_text="secret; blank: it cannot be shown, or this answer is given again for its"
        " Idempotency-Key"
    )
    generation = serializers.IntegerField(read_only=True, help_text="of its address; from 1")
    revoked_at = Instant(read_only=True, allow_null=True)
    fetched_at = Instant(read_only=True, allow_null=True, help_text="last")
    fetched_by = serializers.CharField(read_only=True, help_text="a program, as it calls itself")
    fetched_revision = serializers.IntegerField(read_only=True, help_text="0: none")

    fixed = SUBJECTS

    def get_address(self, link: FeedLink) -> str:
        return feed_address(link)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = {name: values.get(name) or None for name in SUBJECTS}
        if self.instance:
            said = {name: getattr(self.instance, name) or None for name in SUBJECTS}
        else:
            yield from _subject_faults(said, self.context["company"])
        if values.get("names_crews") and not said["house"]:
            yield Fault("names_crews", "belongs to the calendar of a house")
        if values.get("language") == "" and not said["crew"]:
            yield Fault("language", "is needed: there is no crew whose it could be")


def _subject_faults(said: Mapping[str, Any], company: Any) -> Iterator[Fault]:
    named = [name for name in SUBJECTS if said[name]]
    yield from (Fault(name, f"is of {named[0]} already") for name in named[1:])
    members = CrewMember.objects.filter(company=company)
    if said["person"] and not members.filter(name=said["person"]).exists():
        yield Fault("person", "is nobody of a crew")


class FeedListing(Listing):
    kind = serializers.ChoiceField(FeedLink.Kind.choices, required=False)
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    house = serializers.UUIDField(required=False, source="house__public_id")
    works = Flag(required=False, source="revoked_at__isnull", help_text="is not revoked")


class Feeds(Made[FeedLink], Edited[FeedLink], SecretAddresses[FeedLink]):
    """Calendars by a secret address, and when and by what each was fetched last."""

    needs = Right.PLAN
    model = FeedLink
    lookup_value_converter = "feed"
    serializer_class = FeedSerializer
    query = FeedListing
    related = ("crew", "house")

    def get_queryset(self) -> QuerySet[FeedLink]:
        return super().get_queryset().defer("body", "body_gzip")

    def make(self, values: Mapping[str, Any]) -> FeedLink:
        company, now = self.company(self.request), self.now()
        subject = {name: values[name] for name in SUBJECTS if values.get(name)}
        link = blank_link(company=company, **subject)
        for name in OPTIONS:
            setattr(link, name, values.get(name, getattr(link, name)))
        store_feed(link=link, now=now, by=self.who())
        transaction.on_commit(partial(tell_odds_soon, company=company, now=now), robust=True)
        return link

    def edit(self, row: FeedLink, values: Mapping[str, Any]) -> None:
        edit_link(link=row, version=row.version, values=values, now=self.now())
