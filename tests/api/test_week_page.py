"""The week page: what it shows of the working plan, on whose clock, to whom."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from finishing.models import Company, DayOff, ExtraHours, Holiday, ReadinessLine
from finishing.rules.vocabulary import Stage
from scheduling.models import CompanyPlans, Publication
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 3, 2)


def week_text(client: Client, day: date = MONDAY) -> str:
    response = client.get(reverse("web:week", kwargs={"day": day}))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def test_a_visit_shows_house_hours_stage_area_rooms_and_when_it_is_dry(sign_in: SignIn) -> None:
    company = make_company()
    crew = make_crew(company)
    house = make_house(company, rooms=("Hall", "Kitchen"))
    air = {"governs": "air", "air": "record"}
    make_plan(
        company,
        [
            task(crew, house, "2026-03-02 08:00", room="Hall"),
            task(
                crew,
                house,
                "2026-03-02 10:00",
                room="Kitchen",
                ready_after=timedelta(hours=45),
                leaves=air,
            ),
        ],
    )
    text = week_text(sign_in(company))
    assert text.count('<article class="visit') == 1, "one unbroken block is one visit"
    for part in ("Mill Cottage", ">08:00<", ">12:00<", "Tape coat", "Ground floor"):
        assert part in text
    assert "Hall, Kitchen" in text
    assert "dry Wed 4 Mar 09:00, by the air" in text, "the last room's hour is the area's"


def test_a_visit_stands_in_its_crews_row_under_its_day(sign_in: SignIn) -> None:
    company = make_company()
    north, south = make_crew(company, "North crew"), make_crew(company, "South crew")
    house = make_house(company)
    make_plan(company, [task(south, house, "2026-03-04 08:00")])
    page = sign_in(company).get("/week/2026-03-04/").context["page"]
    assert [row.name for row in page.rows] == [north.name, south.name]
    filled = [(row.name, cell.day) for row in page.rows for cell in row.cells if cell.visits]
    assert filled == [("South crew", date(2026, 3, 4))]
    assert [day.day for day in page.days] == [MONDAY + timedelta(days=n) for n in range(7)]


@pytest.mark.parametrize(
    ("zone", "day", "before", "after"),
    [
        # The clocks of the zones change at these dates: IANA time zone database, 2026.
        ("Europe/Dublin", date(2026, 3, 29), "2026-03-27 08:00", "2026-03-30 08:00"),
        ("Europe/Dublin", date(2026, 10, 25), "2026-10-23 08:00", "2026-10-26 08:00"),
        ("America/New_York", date(2026, 3, 8), "2026-03-06 08:00", "2026-03-09 08:00"),
    ],
)
def test_hours_are_the_crews_on_both_sides_of_a_clock_change(
    sign_in: SignIn, zone: str, day: date, before: str, after: str
) -> None:
    company = make_company(zone=zone)
    crew, house = make_crew(company), make_house(company)
    first = task(crew, house, before, ready_after=timedelta(hours=72))
    second = task(crew, house, after, stage=Stage.SECOND)
    assert second.starts_at - first.starts_at != timedelta(hours=72), "the clock did change"
    make_plan(company, [first, second])
    client = sign_in(company)
    for monday in (day - timedelta(days=6), day + timedelta(days=1)):
        page = client.get(reverse("web:week", kwargs={"day": monday})).context["page"]
        [visit] = [v for row in page.rows for cell in row.cells for v in cell.visits]
        assert (visit.starts_hour, visit.ends_hour) == ("08:00", "10:00")


def test_a_late_sunday_hour_belongs_to_the_crews_sunday(sign_in: SignIn) -> None:
    company = make_company(zone="Australia/Sydney")
    crew, house = make_crew(company), make_house(company)
    # Monday 07:00 in Sydney is Sunday 20:00 UTC (UTC+11 in March).
    make_plan(company, [task(crew, house, datetime(2026, 3, 1, 20, tzinfo=UTC))])
    client = sign_in(company)
    assert "07:00" in week_text(client, MONDAY)
    assert "07:00" not in week_text(client, MONDAY - timedelta(days=1))


def test_a_crew_elsewhere_keeps_its_own_clock_and_says_so(sign_in: SignIn) -> None:
    company = make_company(zone="Europe/Dublin")
    crew = make_crew(company, zone="America/New_York")
    make_plan(company, [task(crew, make_house(company), "2026-03-02 07:00")])
    text = week_text(sign_in(company))
    assert ">07:00<" in text
    assert "Hours of America/New_York" in text


def test_days_off_and_public_holidays_are_seen(sign_in: SignIn) -> None:
    company = make_company()
    crew = make_crew(company)
    member = crew.members.get(name="North crew 1")
    DayOff.objects.create(company=company, crew=crew, day=date(2026, 3, 3), reason="Training")
    DayOff.objects.create(company=company, crew=crew, member=member, day=date(2026, 3, 4))
    Holiday.objects.create(company=company, day=date(2026, 3, 5), name="Founders Day")
    client = sign_in(company)
    text = week_text(client)
    for part in ("Day off: Training", "North crew 1 is off", "Founders Day"):
        assert part in text
    page = client.get("/week/2026-03-02/").context["page"]
    works = [cell.works for cell in page.rows[0].cells]
    assert works == [True, False, True, False, True, False, False]


def test_extra_hours_make_a_saturday_or_a_holiday_a_working_day_but_not_a_day_off(
    sign_in: SignIn,
) -> None:
    company = make_company()
    crew = make_crew(company)
    saturday, holiday, off = (date(2026, 3, day) for day in (7, 5, 8))
    Holiday.objects.create(company=company, day=holiday, name="Founders Day")
    DayOff.objects.create(company=company, crew=crew, day=off)
    for day in (saturday, holiday, off):
        ExtraHours.objects.create(company=company, crew=crew, day=day, start=time(8), end=time(12))
    page = sign_in(company).get("/week/2026-03-02/").context["page"]
    works = [cell.works for cell in page.rows[0].cells]
    assert works == [True, True, True, True, True, True, False]


def test_today_is_marked_once_and_only_in_its_week(sign_in: SignIn) -> None:
    company = make_company()
    make_crew(company)
    client = sign_in(company)
    assert client.get("/week/").content.decode().count('aria-current="date"') == 1
    assert 'aria-current="date"' not in week_text(client, date(2001, 1, 1))


def test_the_banner_tells_what_crews_see(sign_in: SignIn) -> None:
    company = make_company()
    client = sign_in(company)
    assert "There is no plan yet" in week_text(client)
    plan = make_plan(company)
    assert "Nothing is published yet" in week_text(client)
    at = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
    Publication.objects.create(company=company, revision=3, plan=plan, published_at=at)
    CompanyPlans.objects.filter(company=company).update(published=plan)
    assert "Published: revision 3, Sun 1 Mar 09:30" in week_text(client)
    make_plan(company)
    assert "Crews still see revision 3 of Sun 1 Mar 09:30" in week_text(client)


def test_late_handovers_and_holds_come_first_as_sentences(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company)
    kept = {
        "state": "planned",
        "due_on": "2026-03-20",
        "met_at": "2026-03-19T10:00:00+00:00",
        "late_minutes": 0,
    }
    late = {
        "state": "planned",
        "due_on": "2026-03-10",
        "met_at": "2026-03-11T10:00:00+00:00",
        "late_minutes": 600,
    }
    whose = {"house": house.name, "house_id": str(house.public_id)}
    make_plan(
        company,
        handovers=[{**whose, **kept, "areas": ["Attic"]}, {**whose, **late, "areas": ["Hall"]}],
        holds=[
            {
                "code": "too_cold",
                "house": house.name,
                "area": "Attic",
                "stages": ["tape"],
                "tasks": 2,
                "heat_on_by": "2026-03-04",
                "item": "",
                "owed_by": "",
            }
        ],
    )
    page = sign_in(company).get("/week/2026-03-02/").context["page"]
    missed, hold = page.warnings
    assert "Tue 10 Mar" in missed
    assert "Wed 11 Mar 10:00" in missed
    assert "heat on by Wed 4 Mar" in hold


def test_week_links_lead_to_the_weeks_beside(sign_in: SignIn) -> None:
    text = week_text(sign_in(make_company()), date(2026, 3, 4))
    assert 'rel="prev" href="/week/2026-02-23/"' in text
    assert 'rel="next" href="/week/2026-03-09/"' in text


@pytest.mark.parametrize("day", ["2026-02-30", "2026-13-01", "1999-12-31", "today", "2026-3-2"])
def test_what_is_no_day_is_no_page(sign_in: SignIn, day: str) -> None:
    assert sign_in(make_company()).get(f"/week/{day}/").status_code == 404


def test_names_are_text_and_never_markup(sign_in: SignIn) -> None:
    company = make_company("<b>Firm</b>")
    crew = make_crew(company, "<script>crew()</script>")
    house = make_house(company, "<img src=x>", rooms=('"><svg onload=x>',))
    DayOff.objects.create(company=company, crew=crew, day=MONDAY, reason="<i>off</i>")
    make_plan(company, [task(crew, house, "2026-03-03 08:00", stage="<u>stage</u>")])
    text = week_text(sign_in(company))
    for markup in ("<b>Firm", "<script>crew", "<img", "<svg onload", "<i>off", "<u>"):
        assert markup not in text
    assert "&lt;script&gt;crew()&lt;/script&gt;" in text


def filled_company(name: str, *, crews: int, houses: int) -> Company:
    company = make_company(name)
    rows = [make_crew(company, f"Crew {number}") for number in range(crews)]
    homes = [make_house(company, f"House {number}") for number in range(houses)]
    start = datetime(2026, 3, 2, 8, tzinfo=UTC)
    tasks = [
        task(crew, home, start + timedelta(days=day))
        for day, home in enumerate(homes)
        for crew in rows[day % crews : day % crews + 1]
    ]
    make_plan(company, tasks)
    for crew in rows:
        DayOff.objects.create(
            company=company, crew=crew, member=crew.members.first(), day=date(2026, 3, 6)
        )
    return company


@pytest.mark.usefixtures("asked")
def test_the_number_of_queries_does_not_grow(
    sign_in: SignIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for size in (1, 4):
        client = sign_in(filled_company(f"Firm {size}", crews=size, houses=size))
        with django_assert_num_queries(12):
            week_text(client)


@pytest.mark.parametrize("day", ["2000-01-01", "2099-12-31"])
def test_first_and_last_week_that_pages_have(sign_in: SignIn, day: str) -> None:
    assert sign_in(make_company()).get(f"/week/{day}/").status_code == 200


def test_held_back_work_says_that_it_is_not_published(sign_in: SignIn) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    ReadinessLine.objects.create(company=company, house=house, item="power")
    make_plan(company, [task(crew, house, "2026-03-02 08:00")])
    publish_plan(company=company, now=datetime(2026, 3, 1, 18, tzinfo=UTC))
    said = "Not published: the house is not ready"
    assert said in sign_in(company).get("/week/2026-03-02/").text
    ReadinessLine.objects.update(done=True)
    publish_plan(company=company, now=datetime(2026, 3, 1, 19, tzinfo=UTC))
    assert said not in sign_in(company).get("/week/2026-03-02/").text
