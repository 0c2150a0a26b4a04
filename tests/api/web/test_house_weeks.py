"""Houses by weeks: visits with their crews, what dries, what is due and when it is met."""

from datetime import UTC, date, datetime, timedelta
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import pytest
from pytest_django import DjangoAssertNumQueries

from api.web.house_rows import crew_marks
from api.web.house_weeks import HouseWeeksPage
from finishing.models import Closure, Company, Crew, DayOff, Holiday, House
from finishing.rules.vocabulary import Stage
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db


def page_of(sign_in: SignIn, company: Company, query: str = "") -> HouseWeeksPage:
    page = sign_in(company).get(f"/houses/weeks/2026-03-02/{query}").context["page"]
    assert isinstance(page, HouseWeeksPage)
    return page


def of_class(markup: str, look: str) -> list[ET.Element]:
    return [part for part in ET.fromstring(markup).iter() if part.get("class") == look]


def promise(
    house: House, due_on: str, met_at: str | None, state: str = "planned"
) -> dict[str, object]:
    due = datetime.fromisoformat(due_on).replace(tzinfo=ZoneInfo(house.zone)) + timedelta(days=1)
    met = datetime.fromisoformat(met_at) if met_at else None
    return {
        "house": house.name,
        "house_id": str(house.public_id),
        "areas": ["Ground floor"],
        "due_on": due_on,
        "state": state,
        "met_at": met_at,
        "late_minutes": max(0, (met - due) // timedelta(minutes=1)) if met else 0,
    }


def test_work_drying_and_the_next_crew_stand_in_order(sign_in: SignIn) -> None:
    company = make_company()
    north, south = make_crew(company, "North crew"), make_crew(company, "South crew")
    house = make_house(company)
    make_plan(
        company,
        [
            task(north, house, "2026-03-02 08:00", ready_after=timedelta(hours=48)),
            task(south, house, "2026-03-04 10:00", stage=Stage.SAND, ready_after=None),
            task(north, house, "2026-03-05 10:00", stage=Stage.INSPECT, ready_after=None),
        ],
    )
    [row] = page_of(sign_in, company).rows
    coat, sanding = of_class(row.chart, "work")
    [inspection] = of_class(row.chart, "others")
    assert coat.get("fill") == f"url(#weave-{row.tint})"
    assert sanding.get("fill") == "url(#sanding)"
    assert inspection.get("fill") == "#fff"
    [wet] = of_class(row.chart, "wet")
    points = [float(pair.split(",")[0]) for pair in wet.get("points", "").split()]
    coat_end = float(coat.get("x", "")) + float(coat.get("width", ""))
    assert points[0] == pytest.approx(coat_end, abs=0.11)
    assert points[1] == float(sanding.get("x", "")), "the next crew comes on the first dry hour"
    assert [mark.text for mark in of_class(row.chart, "whose")] == ["N", "S", "N"]
    assert "North crew at Mill Cottage, Mon 2 Mar 08:00 to 10:00: Tape coat" in row.chart


def test_promises_kept_late_and_not_met_differ_by_shape(sign_in: SignIn) -> None:
    company = make_company()
    names = ("Kept", "Late", "Held", "Done")
    kept, late, held, done = (make_house(company, f"{name} house") for name in names)
    make_plan(
        company,
        handovers=[
            promise(kept, "2026-03-10", "2026-03-09T10:00:00+00:00"),
            promise(late, "2026-03-10", "2026-03-12T10:00:00+00:00"),
            promise(held, "2026-03-10", None, "held"),
            promise(done, "2026-03-10", None, "done"),
        ],
    )
    page = page_of(sign_in, company)
    rows = {row.house.name: row.chart for row in page.rows}
    assert set(rows) == {"Kept house", "Late house", "Held house"}
    assert page.hidden == 1, "what is done is nothing to watch"
    for name, marks in {
        "Kept house": {"due": 1, "kept": 1, "late": 0},
        "Late house": {"due": 1, "kept": 0, "late": 2},
        "Held house": {"due": 1, "kept": 0, "late": 0},
    }.items():
        assert {look: len(of_class(rows[name], look)) for look in marks} == marks
    assert ">?<" in rows["Held house"]
    shapes = {of_class(rows[f"{n} house"], n.lower())[-1].get("d", "")[-20:] for n in names[:2]}
    assert len(shapes) == 2, "a diamond and a cross"
    assert "2 days late" in rows["Late house"]


def test_closures_days_off_and_clock_changes_are_seen(sign_in: SignIn) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    area = house.areas.get()
    Closure.objects.create(
        company=company,
        area=area,
        first_day=date(2026, 3, 9),
        last_day=date(2026, 3, 10),
        reason="tilers",
    )
    Holiday.objects.create(company=company, day=date(2026, 3, 17), name="Founders Day")
    DayOff.objects.create(company=company, crew=crew, day=date(2026, 3, 18), reason="Training")
    make_plan(company, [task(crew, house, "2026-03-02 08:00")])
    page = page_of(sign_in, company)
    [row] = page.rows
    [closed] = of_class(row.chart, "closed")
    assert closed.findtext("title") == "Ground floor is with others: tilers"
    assert page.notes == [
        "Tue 17 Mar: Founders Day",
        "Wed 18 Mar: North crew, Day off: Training",
        "Sun 29 Mar: Clocks forward from 01:00 to 02:00: the time between is missing",
    ]
    assert len(of_class(page.grounds, "clocks")) == 1
    [off] = of_class(page.grounds, "off")
    assert off.get("d", "").count("M") == 4 * 2 + 2, "weekends, the holiday, the crew's day off"


def test_cold_hours_are_seen_until_the_work_is_dry_or_where_it_has_no_place(
    sign_in: SignIn,
) -> None:
    company = make_company()
    crew = make_crew(company)
    dry, held, done = (make_house(company, f"{name} house") for name in ("Dry", "Held", "Done"))
    nights = [[24 * day, 6] for day in range(30)]
    make_plan(
        company,
        [
            task(crew, dry, "2026-03-03 08:00", ready_after=timedelta(hours=40)),
            task(crew, done, "2026-03-02 08:00", ready_after=None),
        ],
        handovers=[promise(held, "2026-03-10", None, "held")],
        cold_hours={
            "from": "2026-03-02T00:00:00+00:00",
            "houses": {str(house.public_id): nights for house in (dry, held)},
        },
    )
    rows = {row.house.name: row.chart for row in page_of(sign_in, company).rows}
    [teeth] = of_class(rows["Dry house"], "cold")
    assert teeth.get("d", "").count("M") == 4, "four nights until Thursday 02:00, the last cut off"
    assert "Dry house is below 10 °C for 20 hours." in rows["Dry house"]
    [teeth] = of_class(rows["Held house"], "cold")
    assert teeth.get("d", "").count("M") == 28, "every night that is drawn"
    assert of_class(rows["Done house"], "cold") == []


def test_work_of_other_weeks_is_not_drawn(sign_in: SignIn) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    starts = ("2026-02-27 08:00", "2026-03-02 08:00", "2026-03-16 08:00")
    stages = (Stage.PREFILL, Stage.TAPE, Stage.SECOND)
    make_plan(
        company, [task(crew, house, at, stage=s) for at, s in zip(starts, stages, strict=True)]
    )
    [row] = page_of(sign_in, company, "?weeks=2").rows
    assert len(of_class(row.chart, "work")) == 1
    [row] = page_of(sign_in, company).rows
    assert len(of_class(row.chart, "work")) == 2


def test_a_crew_has_its_first_letter_where_all_have_others() -> None:
    def marks(*names: str) -> list[str]:
        return list(crew_marks([Crew(pk=n, name=name) for n, name in enumerate(names)]).values())

    assert marks("North crew", "hill crew") == ["N", "H"]
    assert marks("North crew", "Northern crew", "Hill crew") == ["A", "B", "C"]
    assert marks(*(f"Crew {n}" for n in range(28)))[-3:] == ["Z", "27", "28"]


def test_words_stay_words(sign_in: SignIn) -> None:
    company = make_company()
    crew, house = make_crew(company, "<b>crew"), make_house(company, "<i>house</i>")
    make_plan(company, [task(crew, house, "2026-03-02 08:00", stage="<u>stage")])
    text = sign_in(company).get("/houses/weeks/2026-03-02/").text
    assert not any(markup in text for markup in ("<b>crew", "<i>house", "<u>"))


def test_the_number_of_queries_does_not_grow(
    sign_in: SignIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for size in (1, 4):
        company = make_company(f"Firm {size}")
        start = datetime(2026, 3, 2, 8, tzinfo=UTC)
        tasks = []
        for number in range(size):
            crew = make_crew(company, f"Crew {number}")
            house = make_house(company, f"House {number}")
            day = date(2026, 3, 9)
            Closure.objects.create(
                company=company, area=house.areas.get(), first_day=day, last_day=day
            )
            DayOff.objects.create(company=company, crew=crew, day=day)
            tasks.append(task(crew, house, start + timedelta(days=number)))
        make_plan(company, tasks)
        client = sign_in(company)
        with django_assert_num_queries(13):
            assert client.get("/houses/weeks/2026-03-02/?weeks=8").status_code == 200
