"""Whatever is published, taken back and published again: calendar programs follow every change.

They ignore an entry that is changed but neither later in DTSTAMP nor higher in SEQUENCE (RFC 5545,
3.8.7.4; found in several of them), and lose one of two with the same UID.
"""

import random
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.models import Company, Crew, House
from finishing.services.staffing import lend_member
from scheduling.models import FeedLink, PlannedTask, Publication
from scheduling.services.links import blank_link
from scheduling.services.publish import publish_plan
from scheduling.services.take_back import TakeBackError, take_back
from tests.examples import examples
from tests.factories import local, make_company, make_crew, make_house, make_plan, task
from tests.scheduling.feed_reading import events_of

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
TODAY = date(2026, 3, 1)
ROOMS = ("Hall", "Kitchen", "Landing")
STAMPS = ("DTSTAMP", "LAST-MODIFIED", "SEQUENCE")

type Seen = Mapping[str, tuple[tuple[Any, ...], tuple[datetime, int]]]


def random_tasks(
    lot: random.Random, crews: Sequence[Crew], houses: Sequence[House]
) -> list[PlannedTask]:
    """Some rooms of some houses, each with a crew at some hour: beside each other on a day they are
    one visit, apart they are several, and nobody is at two places."""
    found, taken = [], set()
    for house in houses:
        for room in ROOMS:
            crew, day, hour = lot.choice(crews), lot.randint(2, 4), lot.choice((8, 9, 10))
            if lot.random() < 0.25 or (crew.pk, day, hour) in taken:
                continue
            taken |= {(crew.pk, day, hour)}
            start = local(f"2026-03-{day:02} {hour:02}:00")
            found.append(task(crew, house, start, minutes=60, room=room))
    return found


def seen(link: FeedLink) -> Seen:
    """By UID what an entry says, and its stamps."""
    events = events_of(link, TODAY)
    by_uid = {}
    for event in events:
        said = tuple(sorted((k, v.to_ical()) for k, v in event.items() if k not in STAMPS))
        assert event["dtstamp"].dt == event["last-modified"].dt
        by_uid[str(event["uid"])] = said, (event["dtstamp"].dt, int(event["sequence"]))
    assert len(by_uid) == len(events) > 0, "each UID once, and never none at all"
    return by_uid


def follows(before: Seen, after: Seen, *, to_the_letter: bool) -> None:
    """Hold a calendar against itself one publication earlier."""
    for uid, (said, stamps) in before.items():
        if uid not in after:
            assert b"No work planned" in str(said).encode() or b"drying" in str(said).encode()
            continue
        now_said, now_stamps = after[uid]
        if now_said != said:
            assert now_stamps[0] >= stamps[0] + timedelta(seconds=1)
            assert now_stamps[1] > stamps[1]
        elif to_the_letter:
            assert now_stamps == stamps
        assert now_stamps >= stamps


def step(lot: random.Random, company: Company, now: datetime) -> None:
    """Publish something, or take the last publication back."""
    last = Publication.objects.filter(company=company).order_by("-revision").first()
    if last and lot.random() < 0.3:
        try:
            take_back(company=company, revision=last.revision, now=now)
        except TakeBackError:
            pass
        else:
            return
    crews = list(Crew.objects.filter(company=company).order_by("pk"))
    houses = list(House.objects.filter(company=company).order_by("pk"))
    if lot.random() < 0.3:
        lend_member(company=company, name="North crew 1", crew=crews[1], days=[date(2026, 3, 3)])
    promised: list[dict[str, Any]] = [
        {
            "house": house.name,
            "house_id": str(house.public_id),
            "areas": [],
            "due_on": f"2026-03-{lot.randint(20, 22)}",
            "state": "planned",
            "met_at": None,
            "late_minutes": 0,
        }
        for house in houses
        if lot.random() < 0.8
    ]
    make_plan(company, random_tasks(lot, crews, houses), handovers=promised)
    publish_plan(company=company, now=now)


@examples(3, soak=40)
@given(seed=st.integers(0, 2**32))
def test_stamps_rise_with_every_change_and_with_nothing_else(seed: int) -> None:
    lot = random.Random(seed)
    company = make_company(f"Company {uuid4()}")
    crews = [make_crew(company, name) for name in ("North crew", "South crew")]
    houses = [make_house(company, name, rooms=ROOMS) for name in ("Mill Cottage", "Weir House")]
    links = [
        *(blank_link(company=company, crew=crew) for crew in crews),
        *(blank_link(company=company, house=house) for house in houses),
        blank_link(company=company, person="North crew 1"),
        blank_link(company=company),
    ]
    before = [seen(link) for link in links]
    now = NOW
    for _ in range(6):
        step(lot, company, now)
        now += timedelta(seconds=lot.choice((0, 0, 1, 3600)))
        after = [seen(link) for link in links]
        for link, one, other in zip(links, before, after, strict=True):
            follows(one, other, to_the_letter=link.kind == "crew")
        before = after
