"""What crew feeds hold, and when their bytes change."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import icalendar
import pytest
from django.utils import translation
from ical.calendar_stream import IcsCalendarStream

from finishing.models import Company, Crew, House
from finishing.rules.vocabulary import Stage
from scheduling.models import FeedLink, Visit
from scheduling.services.feeds import refresh_feed
from scheduling.services.publish import publish_plan
from tests.factories import local, make_company, make_crew, make_house, make_plan, task
from tests.scheduling.feed_reading import crew_feed

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
TODAY = date(2026, 3, 1)


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def crew(company: Company) -> Crew:
    return make_crew(company)


@pytest.fixture
def house(company: Company) -> House:
    return make_house(
        company, rooms=("Hall", "Kitchen"), address="1 Mill Lane", latitude=53.35, longitude=-6.26
    )


def publish(company: Company, *tasks: Any, now: datetime = NOW) -> None:
    make_plan(company, tasks)
    publish_plan(company=company, now=now)


def events(crew: Crew, today: date = TODAY) -> list[Any]:
    return list(icalendar.Calendar.from_ical(crew_feed(crew=crew, today=today)).events)


def test_a_visit_says_where_what_how_long_with_what_and_why_then(crew: Crew, house: House) -> None:
    waits_on = {
        "other": f"{UUID(int=1)}:tape",
        "reason": "air",
        "ready_at": "2026-03-02T06:00:00+00:00",
        "air": "forecast",
    }
    publish(
        crew.company,
        task(crew, house, "2026-03-02 08:00", room="Hall", key=f"{UUID(int=1)}:tape"),
        task(
            crew,
            house,
            "2026-03-02 10:00",
            stage=Stage.SECOND,
            room="Kitchen",
            waits_on=waits_on,
            cautions=["dust"],
        ),
    )
    (event,) = events(crew)
    assert str(event["summary"]) == "Mill Cottage: Tape coat, Second coat · Ground floor"
    assert event.start == local("2026-03-02 08:00")
    assert event.end == local("2026-03-02 12:00")
    assert str(event["location"]) == "1 Mill Lane"
    assert (event["geo"].latitude, event["geo"].longitude) == (53.35, -6.26)
    assert str(event["url"]) == f"http://127.0.0.1:8000/v/{Visit.objects.get().public_id}/"
    text = str(event["description"])
    for said in (
        "Tape coat · Ground floor · All-purpose drying compound",
        "Widths: flat joints 150 mm",
        "- Hall, walls: flat joints 12.3 m",
        "planned dry Tue 3 Mar 10:00, by the rule; do not touch until then",
        "Work: 8 person-hours",
        "All-purpose drying compound: 6.4 L (10.6 kg)",
        "Tape: 25 m",
        "Bring: 150 mm knife",
        "Waits for: Tape coat, ready Mon 2 Mar 06:00 by the air as forecast.",
        "Planned: check that it is dry before coating.",
        "Local codes and licensed practice decide.",
    ):
        assert said in text


def test_two_parsers_agree_on_a_published_feed(crew: Crew, house: House) -> None:
    publish(
        crew.company,
        task(crew, house, "2026-03-27 08:00", room="Hall"),
        task(crew, house, "2026-03-30 08:00", room="Kitchen"),
    )
    data = crew_feed(crew=crew, today=TODAY)
    one = icalendar.Calendar.from_ical(data)
    (other,) = IcsCalendarStream.from_ics(data.decode()).calendars
    assert [(str(e["uid"]), e.start, e.end, str(e["summary"])) for e in one.events] == [
        (e.uid, e.dtstart, e.dtend, e.summary) for e in other.events
    ]
    assert {e.uid for e in other.events} == {str(v.uid) for v in Visit.objects.all()}


def test_a_crew_named_to_break_out_stays_a_name(company: Company, house: House) -> None:
    crew = make_crew(company, "BEGIN:VEVENT\nSUMMARY:gotcha")
    publish(company, task(crew, house, "2026-03-02 08:00"))
    data = crew_feed(crew=crew, today=TODAY).decode()
    assert data.split("\r\n").count("BEGIN:VEVENT") == 1
    assert "X-WR-CALNAME:BEGIN:VEVENT\\nSUMMARY:gotcha" in data.split("\r\n")
    assert len(events(crew)) == 1


def test_a_cancelled_visit_is_kept_until_a_week_after_its_day(crew: Crew, house: House) -> None:
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    publish(crew.company)
    (event,) = events(crew, date(2026, 3, 9))
    assert str(event["summary"]).startswith("CANCELLED: Mill Cottage")
    assert str(event["status"]) == "CANCELLED"
    (event,) = events(crew, date(2026, 3, 10))
    assert str(event["summary"]) == "No work planned yet"


def test_past_work_is_kept_for_six_weeks(crew: Crew, house: House) -> None:
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    (event,) = events(crew, date(2026, 4, 13))
    assert str(event["summary"]).startswith("Mill Cottage")
    (event,) = events(crew, date(2026, 4, 14))
    assert str(event["summary"]) == "No work planned yet"


def test_a_crew_without_work_has_one_entry_that_never_changes(company: Company) -> None:
    """The id is a UUID of version 7 (RFC 9562): 2026-03-05 23:30 UTC is the next day in Tokyo."""
    stamp = int(datetime(2026, 3, 5, 23, 30, tzinfo=UTC).timestamp() * 1000)
    public_id = UUID(int=(stamp << 80) | (7 << 76) | (2 << 62) | 5)
    crew = make_crew(company, public_id=public_id, zone="Asia/Tokyo")
    (event,) = events(crew)
    assert (event.start, event.end) == (date(2026, 3, 6), date(2026, 3, 7))
    assert str(event["transp"]) == "TRANSPARENT"
    assert crew_feed(crew=crew, today=TODAY) == crew_feed(crew=crew, today=date(2027, 1, 1))


def test_bytes_do_not_depend_on_who_asks(crew: Crew, house: House) -> None:
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    with translation.override("de"):
        german = crew_feed(crew=crew, today=TODAY)
    assert german == crew_feed(crew=crew, today=TODAY)


def test_publishing_renders_the_feed(crew: Crew, house: House) -> None:
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    link = FeedLink.objects.get()
    assert bytes(link.body) == crew_feed(crew=crew, today=TODAY)
    assert (link.rendered_revision, link.rendered_on, link.modified_at) == (1, TODAY, NOW)
    publish(crew.company, task(crew, house, "2026-03-04 08:00"), now=NOW + timedelta(hours=1))
    again = FeedLink.objects.get()
    assert again.etag != link.etag
    assert (again.rendered_revision, again.modified_at) == (2, NOW + timedelta(hours=1))


def test_a_new_day_renders_again_and_keeps_the_etag_of_the_same_bytes(
    crew: Crew, house: House
) -> None:
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    link = FeedLink.objects.get()
    etag, version = link.etag, link.rendering
    assert refresh_feed(link=link, now=NOW).rendering == version
    tomorrow = refresh_feed(link=link, now=NOW + timedelta(days=1))
    assert (tomorrow.rendered_on, tomorrow.rendering) == (date(2026, 3, 2), version + 1)
    assert (tomorrow.etag, tomorrow.modified_at) == (etag, NOW)


def test_a_rendering_that_was_overtaken_is_thrown_away(crew: Crew, house: House) -> None:
    """Two fetches of a new day: the second finds the row changed and takes what is there."""
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    one, two = FeedLink.objects.get(), FeedLink.objects.get()
    tomorrow = NOW + timedelta(days=1)
    fresh = refresh_feed(link=one, now=tomorrow)
    assert refresh_feed(link=two, now=tomorrow).rendering == fresh.rendering


def test_stamp_of_changed_bytes_rises_within_one_second(crew: Crew, house: House) -> None:
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    before = FeedLink.objects.get()
    House.objects.update(name="Mill House")
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    after = FeedLink.objects.get()
    assert before.modified_at is not None
    assert after.modified_at is not None
    assert after.etag != before.etag
    assert after.modified_at >= before.modified_at + timedelta(seconds=1)


def test_a_feed_is_in_its_crews_language_and_units(crew: Crew, house: House) -> None:
    crew.language, crew.units = "es", "imperial"
    crew.save()
    publish(crew.company, task(crew, house, "2026-03-02 08:00"))
    (event,) = events(crew)
    assert event["summary"] == "Mill Cottage: Mano de encintado · Ground floor"
    # 150 mm and 12.3 m; 3.2 L and 5.3 kg, by the gallon of the United States and the pound.
    for said in ("juntas planas 6 in", "juntas planas 40 ft", "0,8 gal (11,7 lb)", "no tocar"):
        assert said in event["description"]
