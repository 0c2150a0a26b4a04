"""What has changed since crews were last told, as the office reads it before it plans again."""

from datetime import time, timedelta

import pytest
from django.utils import timezone

from finishing.models import (
    AirDay,
    Change,
    Company,
    Crew,
    CrewHours,
    CrewMember,
    DayOff,
    House,
    JointLine,
)
from finishing.rules.vocabulary import Stage
from scheduling.services.named_work import WorkName, find_work
from scheduling.services.reports import Statement, report_work
from scheduling.services.since_published import since_published
from scheduling.services.take_back import take_back
from scheduling.since_wording import since_sentence
from tests.factories import make_crew
from tests.plans import published_from, task_of
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db

SOON = MONDAY + timedelta(minutes=20)


@pytest.fixture
def site() -> tuple[Company, House]:
    company, house = make_site(rooms=("Hall", "Kitchen"), system="All-purpose drying")
    published_from(company, MONDAY)
    return company, house


def said(company: Company) -> list[str]:
    found = since_published(company=company, now=SOON)
    assert found is not None
    return [since_sentence(one.code, one.values) for one in found.differences]


def test_nothing_has_changed(site: tuple[Company, House]) -> None:
    assert said(site[0]) == []


def test_nothing_is_published() -> None:
    company, _ = make_site()
    assert since_published(company=company, now=SOON) is None
    published_from(company, MONDAY)
    take_back(company=company, revision=1, now=SOON)
    assert since_published(company=company, now=SOON) is None


def test_crews_away_and_come(site: tuple[Company, House]) -> None:
    company, _ = site
    crew = Crew.objects.get(company=company)
    DayOff.objects.create(company=company, crew=crew, day=(MONDAY + timedelta(days=1)).date())
    DayOff.objects.create(
        company=company,
        crew=crew,
        member=CrewMember.objects.filter(crew=crew).first(),
        day=(MONDAY + timedelta(days=2)).date(),
    )
    make_crew(company, "South crew")
    assert said(company) == [
        "North crew, person-hours: Tue 3 Mar 0 instead of 17, Wed 4 Mar 8.5 instead of 17",
        "South crew is new",
    ]


def test_a_crew_that_works_later_or_can_do_less(site: tuple[Company, House]) -> None:
    company, _ = site
    tuesdays = CrewHours.objects.filter(company=company, weekday=1)
    tuesdays.update(start=time(8), end=time(16, 30))
    later = "North crew works at other times or can do other work: Tue 3 Mar"
    assert said(company) == [later]
    tuesdays.update(start=time(7), end=time(15, 30))
    first, second = CrewMember.objects.filter(company=company)
    first.skills = ["coating"]
    first.save()
    assert said(company) == [], "the other one can still do it all"
    second.skills = ["coating"]
    second.save()
    assert any(line.startswith("North crew works at other times") for line in said(company))


def test_a_crew_that_gets_no_more_work(site: tuple[Company, House]) -> None:
    company, _ = site
    make_crew(company, "South crew")
    Crew.objects.filter(company=company, name="North crew").update(is_active=False)
    assert {"North crew gets no more work", "South crew is new"} <= set(said(company))


def test_work_that_grows_comes_and_goes(site: tuple[Company, House]) -> None:
    company, house = site
    assert said(company) == []
    JointLine.objects.filter(surface__room__name="Hall").update(metres=100.0)
    grown = said(company)
    assert len(grown) == 1
    assert grown[0].startswith("Mill Cottage: ")
    assert "person-hours of work instead of" in grown[0]
    house.areas.get().rooms.get(name="Kitchen").delete()
    assert any("person-hours of work are gone" in line for line in said(company))


def test_a_promise_that_moves(site: tuple[Company, House]) -> None:
    company, house = site
    house.handover_on = house.handover_on + timedelta(days=3)
    house.save()
    assert said(company) == ["Mill Cottage: handover Mon 30 Mar instead of Fri 27 Mar"]


def test_air_that_turns_humid_and_what_crews_say(site: tuple[Company, House]) -> None:
    company, house = site
    plan = published_from(company, SOON)
    tape = task_of(plan, Stage.TAPE)
    now = tape.ends_at + timedelta(hours=2)
    AirDay.objects.filter(company=company).update(humidity=[0.97] * 24)
    report_work(
        company=company,
        crew=tape.crew,
        work=find_work(company=company, name=WorkName(house.name, Stage.TAPE, rooms=["Hall"])),
        said=Statement(kind="not_dry", at=now),
        now=now,
    )
    found = since_published(company=company, now=now)
    assert found is not None
    lines = [since_sentence(one.code, one.values) for one in found.differences]
    assert any("before the coat is dry: Mill Cottage" in line for line in lines)
    assert "1 coat was found wet" in lines


def test_what_crews_find_in_a_house_and_the_office_has_edited(site: tuple[Company, House]) -> None:
    company, house = site
    before = timezone.now() - timedelta(days=1)
    edits = [(timezone.now(), "readiness"), (timezone.now(), "closure"), (before, "house")]
    for at, what in [*edits, (timezone.now(), "note"), (timezone.now(), "room")]:
        Change.objects.create(company=company, house=house, at=at, kind="made", what=what)
    assert said(company) == [
        "Mill Cottage: 2 edits of what it offers, who has it, or its hours and air"
    ]
