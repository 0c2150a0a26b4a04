"""The pages on which the office edits its crews."""

import re
from collections import Counter
from datetime import date, time, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import Crew, CrewMember, DayOff, ExtraHours, Loan
from scheduling.models import FeedLink, Visit
from scheduling.services.links import make_link
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _now(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)


@pytest.fixture
def crew(db: None) -> Crew:
    return make_crew(make_company())


@pytest.fixture
def client(sign_in: SignIn, crew: Crew) -> Client:
    return sign_in(crew.company)


def page_of(crew: Crew, part: str = "") -> str:
    return f"/company/crews/{crew.public_id}/" + (f"{part}/" if part else "")


def facts(crew: Crew, **typed: Any) -> dict[str, Any]:
    usual = {
        "version": crew.version,
        "name": crew.name,
        "zone": crew.zone,
        "language": "en",
        "units": "",
        "is_active": "on",
    }
    return {**usual, **typed}


def days(place: str, first: str, last: str = "", **typed: Any) -> dict[str, Any]:
    sent = {"version": 0, "first_day": first, "last_day": last, **typed}
    return {f"{place}-{name}": value for name, value in sent.items()}


def version_in(text: str, place: str) -> str:
    return text.partition(f'name="{place}-version" value="')[2].partition('"')[0]


def test_a_crew_is_added_and_its_page_is_next(client: Client, crew: Crew) -> None:
    assert "North crew" in client.get("/company/crews/").text
    sent = facts(crew, version=0, name="South crew", zone="America/Denver")
    response = client.post("/company/crews/", sent)
    made = Crew.objects.get(name="South crew")
    assert response["Location"] == page_of(made)
    assert (made.company_id, made.zone) == (crew.company_id, "America/Denver")


def test_a_crew_that_cannot_be_added_is_refused_with_all_faults(client: Client, crew: Crew) -> None:
    sent = facts(crew, name="", zone="Dublin", language="xx")
    response = client.post("/company/crews/", sent)
    assert response.status_code == 422
    for part in ("#id_name", "#id_zone", "#id_language", 'value="Dublin"'):
        assert part in response.text
    taken = client.post("/company/crews/", facts(crew))
    assert "There is a crew North crew already" in taken.text
    assert Crew.objects.count() == 1


def test_facts_are_saved_and_the_calendar_is_made_again(client: Client, crew: Crew) -> None:
    FeedLink.objects.filter(pk=make_link(crew=crew).pk).update(rendered_on=MONDAY.date())
    response = client.post(
        page_of(crew, "facts"), facts(crew, name="Northern crew", units="metric")
    )
    assert response["Location"] == page_of(crew) + "?saved=facts#facts"
    crew.refresh_from_db()
    assert (crew.name, crew.units, crew.version) == ("Northern crew", "metric", 2)
    assert FeedLink.objects.get().rendered_on is None
    assert "Saved." in client.get(response["Location"]).text


def test_facts_from_a_second_tab_are_refused_and_kept(client: Client, crew: Crew) -> None:
    client.post(page_of(crew, "facts"), facts(crew, name="Northern crew"))
    stale = client.post(page_of(crew, "facts"), facts(crew, name="Upper crew"))
    assert stale.status_code == 409
    assert "Northern crew: " in stale.text
    assert 'value="Upper crew"' in stale.text
    again = client.post(page_of(crew, "facts"), facts(crew, name="Upper crew", version=2))
    assert again.status_code == 302


def test_people_come_go_and_learn(client: Client, crew: Crew) -> None:
    stays, goes = crew.members.order_by("pk")
    sent = {
        f"member-{stays.public_id}-version": 1,
        f"member-{stays.public_id}-name": "Ana",
        f"member-{stays.public_id}-skills": ["sanding"],
        f"member-{stays.public_id}-to_day": "2026-05-01",
        f"member-{goes.public_id}-version": 1,
        f"member-{goes.public_id}-name": "",
        f"member-{goes.public_id}-remove": "on",
        "member-new-1-version": 0,
        "member-new-1-name": "Ben",
        "member-new-1-from_day": "2026-03-09",
        "member-new-1-skills": ["coating", "sanding"],
    }
    assert client.post(page_of(crew, "members"), sent).status_code == 302
    rows = [(row.name, row.skills) for row in crew.members.order_by("name")]
    assert rows == [("Ana", ["sanding"]), ("Ben", ["coating", "sanding"])]
    stale = client.post(page_of(crew, "members"), sent)
    assert stale.status_code == 409
    assert "gone" in stale.text, "one of them was removed meanwhile"


def test_all_faults_of_people_are_shown_at_once(client: Client, crew: Crew) -> None:
    first, second = crew.members.order_by("pk")
    sent = {
        f"member-{first.public_id}-version": 1,
        f"member-{first.public_id}-name": "Ana",
        f"member-{second.public_id}-version": 1,
        f"member-{second.public_id}-name": "",
        f"member-{second.public_id}-skills": ["sanding"],
        "member-new-1-version": 0,
        "member-new-1-name": "Ben",
        "member-new-1-from_day": "soon",
        "member-new-1-skills": ["coating"],
    }
    response = client.post(page_of(crew, "members"), sent)
    assert response.status_code == 422
    for part in ("Tick what this person can do.", "Say who it is.", 'value="soon"', 'value="Ben"'):
        assert part in response.text
    boxes = f"id_member-{first.public_id}-skills_0"
    assert f'href="#{boxes}"' in response.text
    assert f'id="{boxes}"' in response.text
    assert not CrewMember.objects.filter(name__in=["Ana", "Ben"]).exists()


def week(crew: Crew, client: Client, **typed: str) -> dict[str, Any]:
    text = client.get(page_of(crew)).text
    sent: dict[str, Any] = {}
    for name in ("mon", "tue", "wed", "thu", "fri", "sat", "sun"):
        hours = "07:00-15:30" if name not in {"sat", "sun"} else ""
        sent |= {f"{name}-version": version_in(text, name), f"{name}-hours": hours}
    return sent | {f"{name}-hours": hours for name, hours in typed.items()}


def test_a_day_has_several_windows(client: Client, crew: Crew) -> None:
    sent = week(crew, client, mon="07:00-12:00 12:30-15:30", fri="", sat="8:00-12:00")
    assert client.post(page_of(crew, "week"), sent).status_code == 302
    rows = [(row.weekday, row.start) for row in crew.hours.all()]
    assert [start for day, start in rows if day == 0] == [time(7), time(12, 30)]
    assert {day for day, _ in rows} == {0, 1, 2, 3, 5}
    stale = client.post(page_of(crew, "week"), sent | {"mon-hours": "09:00-10:00"})
    assert stale.status_code == 409
    assert "Monday: 07:00-12:00, 12:30-15:30" in stale.text
    assert 'value="09:00-10:00"' in stale.text


def test_hours_that_cannot_be_read_are_all_named(client: Client, crew: Crew) -> None:
    sent = week(crew, client, mon="12:00-07:00", tue="all day")
    response = client.post(page_of(crew, "week"), sent)
    assert response.status_code == 422
    for part in ("ends before it starts", "Write the times like", 'value="all day"'):
        assert part in response.text
    assert crew.hours.count() == 5


def test_days_off_are_added_changed_and_taken_back(client: Client, crew: Crew) -> None:
    path = page_of(crew, "days_off")
    ana = crew.members.order_by("pk")[0]
    sent = days("off-new-1", "2026-03-09", "2026-03-11", member="", reason="Course")
    sent |= days("off-new-2", "2026-03-05", member=str(ana.public_id), reason="Ill")
    assert client.post(path, sent).status_code == 302
    assert DayOff.objects.count() == 4

    course = DayOff.objects.filter(member=None).order_by("day")[0]
    place = f"off-{course.public_id}"
    seen = version_in(client.get(page_of(crew)).text, place)
    shorter = days(place, "2026-03-09", "2026-03-10", version=seen, member="", reason="Course")
    assert client.post(path, shorter).status_code == 302
    assert [row.day.day for row in DayOff.objects.filter(member=None)] == [9, 10]

    stale = client.post(path, shorter | {f"{place}-reason": "Fair"})
    assert stale.status_code == 409
    assert "Mon 9 Mar to Tue 10 Mar: North crew, Course" in stale.text
    assert 'value="Fair"' in stale.text
    now = version_in(stale.text, place)
    gone = days(place, "2026-03-09", "", version=now, member="", reason="", remove="on")
    assert client.post(path, gone).status_code == 302
    assert [row.reason for row in DayOff.objects.all()] == ["Ill"]


def test_a_line_that_somebody_removed_meanwhile_is_not_dropped_in_silence(
    client: Client, crew: Crew
) -> None:
    row = DayOff.objects.create(company=crew.company, crew=crew, day=date(2026, 3, 9))
    place = f"off-{row.public_id}"
    seen = version_in(client.get(page_of(crew)).text, place)
    DayOff.objects.all().delete()
    sent = days(place, "2026-03-12", version=seen, member="", reason="Fair")
    response = client.post(page_of(crew, "days_off"), sent)
    assert response.status_code == 409
    assert "1 line is gone." in response.text


def test_all_faults_of_days_off_are_shown_at_once(client: Client, crew: Crew) -> None:
    DayOff.objects.create(company=crew.company, crew=crew, day=date(2026, 3, 9))
    sent = days("off-new-1", "2026-03-09", "2026-03-10", member="", reason="Fair")
    sent |= days("off-new-2", "2026-03-20", "2026-03-19", member="", reason="Course")
    response = client.post(page_of(crew, "days_off"), sent)
    assert response.status_code == 422
    for part in ("has Mon 9 Mar 2026 in another line", "swap the days", 'value="Course"'):
        assert part in response.text
    assert DayOff.objects.count() == 1


def test_a_visit_on_a_day_off_is_named(client: Client, crew: Crew) -> None:
    house, starts = make_house(crew.company), MONDAY + timedelta(days=7, hours=8)
    visit = Visit.objects.create(
        company=crew.company,
        crew=crew,
        house=house,
        uid=crew.public_id,
        starts_at=starts,
        ends_at=starts + timedelta(hours=2),
        created_at=MONDAY,
        modified_at=MONDAY,
    )
    assert "told of visits on days off" not in client.get(page_of(crew)).text
    client.post(
        page_of(crew, "days_off"), days("off-new-1", "2026-03-09", member="", reason="Fair")
    )
    text = client.get(page_of(crew)).text
    assert "at Mill Cottage, when nobody of the crew is there" in text
    Visit.objects.filter(pk=visit.pk).update(cancelled_at=MONDAY)
    assert "at Mill Cottage" not in client.get(page_of(crew)).text


def test_extra_hours_are_added_and_refused_twice(client: Client, crew: Crew) -> None:
    path = page_of(crew, "extra")
    sent = days("extra-new-1", "2026-03-07", start="08:00", end="12:00")
    assert client.post(path, sent).status_code == 302
    row = ExtraHours.objects.get()
    assert (row.day, row.start, row.end) == (date(2026, 3, 7), time(8), time(12))
    twice = days("extra-new-1", "2026-03-07", start="11:00", end="13:00")
    twice |= days("extra-new-2", "2026-03-14", start="11:00", end="09:00")
    response = client.post(path, twice)
    assert response.status_code == 422
    assert "in another line already" in response.text
    assert "The hours end before they begin" in response.text
    assert 'value="13:00"' in response.text


def test_somebody_is_lent_for_some_days(client: Client, crew: Crew) -> None:
    other = make_crew(crew.company, "South crew")
    ana = crew.members.order_by("pk")[0]
    who = {"member": str(ana.public_id), "crew": str(other.public_id)}
    path = page_of(crew, "loans")
    assert (
        client.post(path, days("lent-new-1", "2026-03-09", "2026-03-10", **who)).status_code == 302
    )
    assert Loan.objects.filter(member=ana, crew=other).count() == 2
    assert "North crew 1 (North crew)" in client.get(page_of(other)).text
    CrewMember.objects.filter(pk=ana.pk).update(to_day=date(2026, 3, 12))
    late = client.post(path, days("lent-new-1", "2026-03-12", "2026-03-16", **who))
    assert late.status_code == 422
    assert "lend within these days" in late.text
    nobody = client.post(path, days("lent-new-1", "2026-03-12", member="", crew=who["crew"]))
    assert "Choose who." in nobody.text


def test_a_crew_of_another_company_is_not_there(sign_in: SignIn, crew: Crew) -> None:
    stranger = sign_in(make_company("Other"))
    assert "North crew" not in stranger.get("/company/crews/").text
    assert stranger.get(page_of(crew)).status_code == 404
    for part in ("facts", "members", "week", "days_off", "extra", "loans"):
        assert stranger.post(page_of(crew, part), facts(crew)).status_code == 404
    crew.refresh_from_db()
    assert crew.version == 1


def test_a_section_that_is_none_is_not_there(client: Client, crew: Crew) -> None:
    assert client.post(page_of(crew, "nothing"), {}).status_code == 404


def test_somebody_of_another_company_cannot_be_lent(client: Client, crew: Crew) -> None:
    strange = make_crew(make_company("Other"), "Strange crew")
    ana = strange.members.order_by("pk")[0]
    who = {"member": str(ana.public_id), "crew": str(strange.public_id)}
    response = client.post(page_of(crew, "loans"), days("lent-new-1", "2026-03-09", **who))
    assert response.status_code == 422
    assert not Loan.objects.exists()


def test_a_new_companys_page_speaks_of_no_plan_but_leads_to_the_first(
    client: Client, crew: Crew
) -> None:
    saved = client.get(page_of(crew) + "?saved=members").text
    assert "Go on to the first plan" in saved
    assert "Plan again" not in saved
    make_plan(crew.company, [task(crew, make_house(crew.company), "2026-03-02 08:00")])
    saved = client.get(page_of(crew) + "?saved=members").text
    assert "Plans made before do not know of it yet." in saved


def test_the_page_takes_few_queries_with_much_of_everything(
    client: Client, crew: Crew, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(8):
        other = make_crew(crew.company, f"Crew {number}")
        day = date(2026, 3, 3) + timedelta(days=2 * number)
        for member in crew.members.all():
            DayOff.objects.create(company=crew.company, crew=crew, member=member, day=day)
            Loan.objects.create(company=crew.company, member=member, crew=other, day=day)
        for member in other.members.all():
            Loan.objects.create(company=crew.company, member=member, crew=crew, day=day)
    with django_assert_max_num_queries(15):
        assert client.get(page_of(crew)).status_code == 200


def test_no_two_fields_have_the_same_id(client: Client, crew: Crew) -> None:
    DayOff.objects.create(company=crew.company, crew=crew, day=date(2026, 3, 9))
    ids = re.findall(r' id="([^"]+)"', client.get(page_of(crew)).text)
    assert [one for one, count in Counter(ids).items() if count > 1] == []


def test_addresses_of_a_crew_and_its_people_are_kept_and_checked(
    client: Client, crew: Crew
) -> None:
    refused = client.post(page_of(crew, "facts"), facts(crew, email="no address"))
    assert refused.status_code == 422
    kept = client.post(page_of(crew, "facts"), facts(crew, email="north@crews.example"))
    assert kept.status_code == 302
    member = crew.members.order_by("pk")[0]
    sent = {
        f"member-{member.public_id}-version": 1,
        f"member-{member.public_id}-name": member.name,
        f"member-{member.public_id}-skills": ["sanding"],
        f"member-{member.public_id}-email": "ana@crews.example",
    }
    assert client.post(page_of(crew, "members"), sent).status_code == 302
    crew.refresh_from_db()
    member.refresh_from_db()
    assert (crew.email, member.email) == ("north@crews.example", "ana@crews.example")
