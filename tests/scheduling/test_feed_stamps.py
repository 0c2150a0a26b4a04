"""Other words for the same work raise the stamps that programs go by, in every kind of calendar."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from finishing.models import Crew, House
from scheduling.models import FeedLink
from scheduling.services.crew_facts import edit_crew_facts
from scheduling.services.links import blank_link, edit_link, stored_like
from scheduling.services.new_feeds import add_feed
from scheduling.services.publish import publish_plan
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.scheduling.feed_reading import events_of

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture
def crew() -> Crew:
    return make_crew(make_company())


@pytest.fixture
def house(crew: Crew) -> House:
    return make_house(crew.company, rooms=("Hall", "Kitchen"))


def publish(crew: Crew, house: House, begins: str, now: datetime, **plan: Any) -> None:
    make_plan(crew.company, [task(crew, house, begins)], **plan)
    publish_plan(company=crew.company, now=now)


def link_of(kind: str, crew: Crew, house: House) -> FeedLink:
    of_kind: dict[str, Any] = {
        "crew": {"crew": crew},
        "house": {"house": house},
        "person": {"person": "North crew 1"},
    }
    blank = blank_link(company=crew.company, **of_kind.get(kind, {}))
    return stored_like(blank) or add_feed(link=blank, now=NOW)


def stamps_of(link: FeedLink) -> dict[str, datetime]:
    """Return the stamps of the entries of a stored feed, by UID."""
    events = events_of(FeedLink.objects.get(pk=link.pk), date(2026, 3, 1))
    assert all(event["dtstamp"].dt == event["last-modified"].dt for event in events)
    return {str(event["uid"]): event["dtstamp"].dt for event in events}


@pytest.mark.parametrize("kind", FeedLink.Kind)
def test_the_same_work_in_other_words_has_a_new_stamp(
    crew: Crew, house: House, kind: FeedLink.Kind
) -> None:
    """Programs that go by stamps keep the text they have otherwise."""
    promise = {
        "house": house.name,
        "house_id": str(house.public_id),
        "areas": [],
        "due_on": "2026-03-27",
        "state": "planned",
        "met_at": "2026-03-12T12:00:00+00:00",
        "weight": 1,
        "late_minutes": 0,
        "chain": [],
    }
    publish(crew, house, "2026-03-02 08:00", NOW, handovers=[promise])
    link = link_of(kind, crew, house)
    before = stamps_of(link)
    edit_link(link=link, version=link.version, values={"language": "es"}, now=NOW + HOUR)
    assert set(stamps_of(link).values()) == {NOW + HOUR}
    assert stamps_of(link).keys() == before.keys()
    publish(crew, house, "2026-03-02 09:00", NOW + 2 * HOUR)
    assert NOW + 2 * HOUR in stamps_of(link).values()


@pytest.mark.parametrize("kind", ["crew", "person", "company"])
def test_other_units_of_a_crew_have_a_new_stamp(crew: Crew, house: House, kind: str) -> None:
    publish(crew, house, "2026-03-02 08:00", NOW)
    link = link_of(kind, crew, house)
    facts = {"units": Crew.Units.IMPERIAL}
    edit_crew_facts(crew=crew, version=crew.version, facts=facts, now=NOW + HOUR)
    assert set(stamps_of(link).values()) == {NOW + HOUR}
