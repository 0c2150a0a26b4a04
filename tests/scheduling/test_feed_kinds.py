"""What calendars of a house, a person and the whole company hold, and what each link changes."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.utils import translation

from finishing.models import Company, Crew, CrewMember, House
from finishing.rules.vocabulary import Stage
from finishing.services.staffing import end_loan, lend_member, mark_away
from scheduling.models import FeedLink, Visit, VisitPerson
from scheduling.services.feeds import feed_body, refresh_feed
from scheduling.services.links import blank_link, edit_link, make_link
from scheduling.services.new_feeds import add_feed
from scheduling.services.publish import publish_plan
from scheduling.services.take_back import take_back
from tests.factories import local, make_company, make_crew, make_house, make_plan, task
from tests.scheduling.feed_reading import events_of

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
TODAY = date(2026, 3, 1)
HOUR = timedelta(hours=1)
HANDOVER: dict[str, Any] = {
    "areas": [],
    "due_on": "2026-03-27",
    "state": "planned",
    "met_at": "2026-03-12T12:00:00+00:00",
    "weight": 1,
    "late_minutes": 0,
    "chain": [],
}
PERSON = "North crew 1"


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def crew(company: Company) -> Crew:
    return make_crew(company)


@pytest.fixture
def house(company: Company) -> House:
    return make_house(company, rooms=("Hall", "Kitchen"), address="1 Mill Lane")


def publish(company: Company, *tasks: Any, now: datetime = NOW, **plan: Any) -> None:
    make_plan(company, tasks, **plan)
    publish_plan(company=company, now=now)


def promised(house: House, **values: Any) -> dict[str, Any]:
    return {**HANDOVER, "house": house.name, "house_id": str(house.public_id), **values}


def titles(link: FeedLink, today: date = TODAY) -> list[str]:
    return [str(event["summary"]) for event in events_of(link, today)]


class TestHouse:
    def test_a_builder_reads_coats_what_not_to_touch_and_the_handover(
        self, crew: Crew, house: House
    ) -> None:
        publish(
            crew.company,
            task(crew, house, "2026-03-02 08:00", room="Hall"),
            task(crew, house, "2026-03-02 10:00", room="Kitchen"),
            handovers=[promised(house)],
        )
        coat, drying, handover = events_of(blank_link(company=crew.company, house=house), TODAY)
        assert str(coat["summary"]) == "Mill Cottage: Tape coat · Ground floor"
        assert (coat.start, coat.end) == (local("2026-03-02 08:00"), local("2026-03-02 12:00"))
        assert "Tape coat · Ground floor: Hall, Kitchen" in coat["description"]
        assert "Do not touch the coats" in coat["description"]
        assert str(drying["summary"]) == "Mill Cottage: coats drying, do not touch · Ground floor"
        assert (drying.start, drying.end) == (local("2026-03-02 12:00"), local("2026-03-03 12:00"))
        assert "not before Tue 3 Mar 12:00 (Tape coat, planned dry then)" in drying["description"]
        assert {str(event["transp"]) for event in (coat, drying, handover)} == {"TRANSPARENT"}
        assert str(handover["summary"]) == "Mill Cottage: handover"
        assert (handover.start, handover.end) == (date(2026, 3, 27), date(2026, 3, 28))
        assert "due Fri 27 Mar, ready Thu 12 Mar 12:00" in handover["description"]

    def test_it_tells_no_amounts_no_hours_and_no_crew(self, crew: Crew, house: House) -> None:
        publish(crew.company, task(crew, house, "2026-03-02 08:00", cautions=["dust"]))
        link = blank_link(company=crew.company, house=house)
        text = feed_body(link=link, today=TODAY).decode().replace("\r\n ", "")
        for untold in ("North crew", "person-hours", "12.3", "compound", "Bring", "URL:", "/v/"):
            assert untold not in text
        link.names_crews = True
        assert "Crew: North crew" in feed_body(link=link, today=TODAY).decode()

    def test_drying_is_left_out_where_the_link_says_so(self, crew: Crew, house: House) -> None:
        publish(
            crew.company,
            task(crew, house, "2026-03-02 08:00"),
            task(crew, house, "2026-03-05 08:00", stage=Stage.SAND, ready_after=None),
        )
        link = blank_link(company=crew.company, house=house)
        assert len(titles(link)) == 3, "two visits, one of which leaves wet coats"
        link.shows_drying = False
        assert len(titles(link)) == 2

    def test_a_handover_that_moves_keeps_its_entry(self, crew: Crew, house: House) -> None:
        link = blank_link(company=crew.company, house=house)
        stamps = []
        for number, due in enumerate(("2026-03-27", "2026-03-27", "2026-04-02", "2026-03-27")):
            handover = promised(house, due_on=due)
            publish(crew.company, now=NOW + number * HOUR, handovers=[handover])
            (event,) = events_of(link, TODAY)
            stamps.append((str(event["uid"]), event["sequence"], event["dtstamp"].dt))
        uid = stamps[0][0]
        assert stamps == [
            (uid, 0, NOW),
            (uid, 0, NOW),
            (uid, 1, NOW + 2 * HOUR),
            (uid, 2, NOW + 3 * HOUR),
        ]

    def test_a_handover_that_is_gone_is_cancelled_for_a_week(
        self, crew: Crew, house: House
    ) -> None:
        link = blank_link(company=crew.company, house=house)
        publish(crew.company, handovers=[promised(house)])
        publish(crew.company, now=NOW + HOUR)
        assert titles(link) == ["CANCELLED: Mill Cottage: handover"]
        assert titles(link, date(2026, 4, 3)) == ["CANCELLED: Mill Cottage: handover"]
        assert titles(link, date(2026, 4, 4)) == ["No work planned yet"]

    def test_a_handover_of_other_areas_is_the_same_where_most_are(
        self, crew: Crew, house: House
    ) -> None:
        link = blank_link(company=crew.company, house=house)
        publish(
            crew.company,
            handovers=[
                promised(house, areas=["Attic"]),
                promised(house, areas=["Ground floor", "Stairs"]),
            ],
        )
        before = {str(e["summary"]): str(e["uid"]) for e in events_of(link, TODAY)}
        publish(
            crew.company,
            now=NOW + HOUR,
            handovers=[
                promised(house, areas=["Ground floor", "Hall", "Stairs"]),
                promised(house, areas=["Attic"]),
            ],
        )
        after = {str(e["summary"]): (str(e["uid"]), e["sequence"]) for e in events_of(link, TODAY)}
        mill = "Mill Cottage: handover"
        assert after == {
            f"{mill} · Attic": (before[f"{mill} · Attic"], 0),
            f"{mill} · Ground floor, Hall, Stairs": (
                before[f"{mill} · Ground floor, Stairs"],
                1,
            ),
        }

    def test_two_handovers_of_a_house_are_two_entries(self, crew: Crew, house: House) -> None:
        part = promised(house, areas=["Attic"], due_on="2026-03-20")
        publish(crew.company, handovers=[promised(house), part])
        said = titles(blank_link(company=crew.company, house=house))
        assert said == ["Mill Cottage: handover · Attic", "Mill Cottage: handover"]

    def test_another_house_is_another_calendar(self, crew: Crew, house: House) -> None:
        other = make_house(crew.company, "Weir House")
        publish(crew.company, task(crew, house, "2026-03-02 08:00"), handovers=[promised(other)])
        assert titles(blank_link(company=crew.company, house=other)) == ["Weir House: handover"]


class TestPerson:
    def test_a_person_is_followed_through_a_loan(self, crew: Crew, house: House) -> None:
        company = crew.company
        other = make_crew(company, "South crew")
        weir = make_house(company, "Weir House")

        def tasks() -> list[Any]:
            return [task(crew, house, "2026-03-03 08:00"), task(other, weir, "2026-03-03 08:00")]

        marek = blank_link(company=company, person="North crew 1")
        publish(company, *tasks())
        assert titles(marek) == ["North crew: Mill Cottage: Tape coat · Ground floor"]
        (before,) = events_of(marek, TODAY)
        lend_member(company=company, name="North crew 1", crew=other, days=[date(2026, 3, 3)])
        assert len(titles(marek)) == 1, "nobody is told before it is published"
        publish(company, *tasks(), now=NOW + HOUR)
        cancelled, lent = sorted(events_of(marek, TODAY), key=lambda e: str(e["summary"]))
        assert str(cancelled["summary"]).startswith("CANCELLED: North crew: Mill Cottage")
        assert str(lent["summary"]).startswith("South crew: Weir House")
        assert (cancelled["uid"], cancelled["sequence"]) == (before["uid"], 1)
        assert cancelled["dtstamp"].dt > before["dtstamp"].dt
        end_loan(crew=other, name="North crew 1", days=[date(2026, 3, 3)])
        publish(company, *tasks(), now=NOW + 2 * HOUR)
        lent, back = sorted(events_of(marek, TODAY), key=lambda e: str(e["summary"]))
        assert str(lent["status"]) == "CANCELLED"
        assert (back["uid"], back["sequence"]) == (before["uid"], 2)

    def test_what_is_cancelled_for_one_moves_with_its_visit(self, crew: Crew, house: House) -> None:
        other = make_crew(crew.company, "South crew")
        link = blank_link(company=crew.company, person="North crew 1")
        publish(crew.company, task(crew, house, "2026-03-03 08:00"))
        days = [date(2026, 3, 3), date(2026, 3, 4)]
        lend_member(company=crew.company, name="North crew 1", crew=other, days=days)
        stamps = []
        for number, start in enumerate(("2026-03-03 08:00", "2026-03-04 08:00"), 1):
            publish(crew.company, task(crew, house, start), now=NOW + number * HOUR)
            (event,) = events_of(link, TODAY)
            stamps.append((event.start, event["sequence"], event["dtstamp"].dt))
        assert stamps == [
            (local("2026-03-03 08:00"), 1, NOW + HOUR),
            (local("2026-03-04 08:00"), 2, NOW + 2 * HOUR),
        ]

    def test_crews_formed_anew_take_their_people_along(self, crew: Crew, house: House) -> None:
        """Somebody leaves a crew at the end of a week and is in another from then on."""
        company = crew.company
        other = make_crew(company, "South crew")
        CrewMember.objects.filter(name="North crew 1").update(to_day=date(2026, 3, 6))
        CrewMember.objects.create(
            company=company, crew=other, name="North crew 1", from_day=date(2026, 3, 7)
        )
        publish(
            company,
            task(crew, house, "2026-03-05 08:00", room="Hall"),
            task(crew, house, "2026-03-10 08:00", room="Kitchen"),
            task(other, make_house(company, "Weir House"), "2026-03-10 08:00"),
        )
        said = titles(blank_link(company=company, person="North crew 1"))
        assert [title.split(": Tape")[0] for title in said] == [
            "North crew: Mill Cottage",
            "South crew: Weir House",
        ]

    def test_a_day_off_is_no_visit(self, crew: Crew, house: House) -> None:
        member = CrewMember.objects.get(name="North crew 1")
        mark_away(crew=crew, member=member, days=[date(2026, 3, 3)])
        publish(crew.company, task(crew, house, "2026-03-03 08:00"))
        assert titles(blank_link(company=crew.company, person="North crew 1")) == [
            "No work planned yet"
        ]
        assert len(titles(blank_link(company=crew.company, person="North crew 2"))) == 1

    def test_what_moves_or_is_called_off_moves_for_each(self, crew: Crew, house: House) -> None:
        link = blank_link(company=crew.company, person="North crew 1")
        stamps = []
        for number, start in enumerate(("2026-03-03 08:00", "2026-03-04 08:00", "")):
            tasks = [task(crew, house, start)] if start else []
            publish(crew.company, *tasks, now=NOW + number * HOUR)
            (event,) = events_of(link, TODAY)
            stamps.append((event["sequence"], event["dtstamp"].dt, str(event["status"])))
        assert stamps == [
            (0, NOW, "CONFIRMED"),
            (1, NOW + HOUR, "CONFIRMED"),
            (2, NOW + 2 * HOUR, "CANCELLED"),
        ]

    def test_a_calendar_made_after_publishing_is_whole(self, crew: Crew, house: House) -> None:
        publish(crew.company, task(crew, house, "2026-03-03 08:00"), handovers=[promised(house)])
        VisitPerson.objects.all().delete()  # as published before anybody was told of people
        link = blank_link(company=crew.company, person="North crew 1")
        add_feed(link=link, now=NOW + HOUR)
        assert titles(link) == ["North crew: Mill Cottage: Tape coat · Ground floor"]


class TestCompany:
    def test_it_has_all_visits_with_their_crews_and_the_handovers(
        self, crew: Crew, house: House
    ) -> None:
        other = make_crew(crew.company, "South crew")
        publish(
            crew.company,
            task(crew, house, "2026-03-02 08:00"),
            task(other, make_house(crew.company, "Weir House"), "2026-03-03 08:00"),
            handovers=[promised(house)],
        )
        assert titles(blank_link(company=crew.company)) == [
            "North crew: Mill Cottage: Tape coat · Ground floor",
            "South crew: Weir House: Tape coat · Ground floor",
            "Mill Cottage: handover",
        ]

    def test_nothing_of_another_company_is_in_any_calendar(self, crew: Crew, house: House) -> None:
        publish(crew.company, task(crew, house, "2026-03-02 08:00"), handovers=[promised(house)])
        other = make_company("Quay Finishing")
        make_crew(other)  # its people have the same names
        for link in (blank_link(company=other), blank_link(company=other, person="North crew 1")):
            assert titles(link) == ["No work planned yet"]


def test_a_visit_has_a_uid_of_its_own_in_each_kind(crew: Crew, house: House) -> None:
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    company = crew.company
    links = [
        blank_link(company=company, crew=crew),
        blank_link(company=company, house=house),
        blank_link(company=company, person="North crew 1"),
        blank_link(company=company),
    ]
    uids = [str(event["uid"]) for link in links for event in events_of(link, TODAY)]
    assert len(uids) == len(set(uids)) == 5
    assert uids[0] == str(Visit.objects.get().uid)


def test_a_link_goes_so_many_weeks_ahead(crew: Crew, house: House) -> None:
    """Two weeks from Sunday 1 March end as Sunday the 15th begins."""
    publish(
        crew.company,
        task(crew, house, "2026-03-14 23:00", room="Hall"),
        task(crew, house, "2026-03-15 08:00", room="Kitchen"),
        handovers=[promised(house, due_on="2026-03-15")],
    )
    for link in (blank_link(company=crew.company, crew=crew), blank_link(company=crew.company)):
        everything = len(titles(link))
        link.weeks = 2
        assert len(titles(link)) == 1
        assert len(titles(link, date(2026, 3, 2))) == everything


def test_reminders_come_an_hour_before_where_they_are_wanted(crew: Crew, house: House) -> None:
    """RFC 5545, 3.6.6; never for what is cancelled or takes no time."""
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    link = blank_link(company=crew.company, crew=crew)
    assert b"VALARM" not in feed_body(link=link, today=TODAY)
    link.has_alarms = True
    (event,) = events_of(link, TODAY)
    (alarm,) = event.walk("VALARM")
    assert (str(alarm["action"]), alarm["trigger"].dt) == ("DISPLAY", timedelta(hours=-1))
    assert b"TRIGGER:-PT1H" in feed_body(link=link, today=TODAY)
    publish(crew.company, now=NOW + HOUR)
    assert b"VALARM" not in feed_body(link=link, today=TODAY)


def test_a_link_has_a_language_of_its_own(crew: Crew, house: House) -> None:
    publish(crew.company, task(crew, house, "2026-03-02 08:00"), handovers=[promised(house)])
    link = blank_link(company=crew.company, house=house)
    link.language = "es"
    with translation.override("de"):
        text = feed_body(link=link, today=TODAY).decode().replace("\r\n ", "")
    for said in ("no tocar", "Mill Cottage: entrega", "Trabajos de acabado en Mill Cottage"):
        assert said in text


def test_changed_options_render_the_feed_anew(crew: Crew, house: House) -> None:
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    link = make_link(crew=crew)
    assert refresh_feed(link=link, now=NOW).rendered_on == TODAY
    old = link.etag
    edit_link(link=link, version=link.version, values={"has_alarms": True}, now=NOW + HOUR)
    link = FeedLink.objects.get(pk=link.pk)
    assert link.rendered_on is None
    assert refresh_feed(link=link, now=NOW + HOUR).etag != old


def test_taking_back_reaches_every_kind(crew: Crew, house: House) -> None:
    publish(crew.company, task(crew, house, "2026-03-03 08:00"), handovers=[promised(house)])
    take_back(company=crew.company, revision=1, now=NOW + HOUR)
    company = crew.company
    for link in (
        blank_link(company=company, house=house),
        blank_link(company=company, person="North crew 1"),
        blank_link(company=company),
    ):
        assert {str(event["status"]) for event in events_of(link, TODAY)} == {"CANCELLED"}
        assert all(event["sequence"] == 1 for event in events_of(link, TODAY))
