"""Looking back over what crews reported: days lost by cause, ways, coats found wet."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest

from finishing.models import Company, Crew, House
from finishing.rules.lost_days import Cause
from scheduling.models import Obstacle, Report, Visit
from scheduling.services.looking_back import HouseMonth, look_back
from tests.factories import local, make_company, make_crew, make_house
from tests.reported import reported, worked

pytestmark = pytest.mark.django_db
FIRST, NOW = date(2026, 3, 1), local("2026-05-01 12:00")


@pytest.fixture
def company() -> Company:
    return make_company()


def visit(crew: Crew, house: House, day: str, *, ready_at: str = "", hour: int = 8) -> Visit:
    """A published visit of four hours, of a coat over one that was to be ready at an hour."""
    starts_at = local(f"{day} {hour:02}:00")
    coat = f"{uuid4()}:tape"
    on: dict[str, Any] = {}
    if ready_at:
        on = {"other": coat, "reason": "air", "ready_at": local(ready_at).isoformat(), "air": ""}
    task = {
        "key": coat.replace("tape", "second"),
        "stage": "second",
        "starts_at": starts_at.isoformat(),
        "ends_at": (starts_at + timedelta(hours=4)).isoformat(),
        "person_minutes": 480,
        "part": [1, 1],
        "compound": "",
        "job": "",
        "work": [],
        "waits_on": on,
    }
    return Visit.objects.create(
        company=crew.company,
        crew=crew,
        house=house,
        uid=uuid4(),
        starts_at=starts_at,
        ends_at=starts_at + timedelta(hours=4),
        content={"tasks": [task]},
        created_at=starts_at,
        modified_at=starts_at,
    )


def only_month(company: Company, **more: Any) -> HouseMonth:
    (row,) = look_back(company=company, first=FIRST, now=NOW, **more).months
    return row


def test_days_lost_by_cause(company: Company) -> None:
    """Mondays, 2 and 9 March 2026. A coat is ready on Wednesday afternoon: Tuesday and Wednesday
    are lost to drying; on Thursday and Friday the crew was elsewhere."""
    crew, house = make_crew(company), make_house(company)
    worked(visit(crew, house, "2026-03-02"), 240)
    worked(visit(crew, house, "2026-03-09", ready_at="2026-03-04 15:00"), 240)
    row = only_month(company)
    assert (row.house, row.month, row.worked) == (house, date(2026, 3, 1), 2)
    assert row.lost == {Cause.OTHERS: 0, Cause.DRYING: 2, Cause.ELSEWHERE: 2}


def test_ready_in_the_morning_costs_no_day(company: Company) -> None:
    crew, house = make_crew(company), make_house(company)
    worked(visit(crew, house, "2026-03-02"), 240)
    worked(visit(crew, house, "2026-03-05", ready_at="2026-03-04 09:00"), 240)
    assert only_month(company).lost == {Cause.OTHERS: 0, Cause.DRYING: 1, Cause.ELSEWHERE: 1}


def test_what_others_kept_from_work_counts_before_drying(company: Company) -> None:
    crew, house = make_crew(company), make_house(company)
    worked(visit(crew, house, "2026-03-02"), 240)
    worked(visit(crew, house, "2026-03-06", ready_at="2026-03-05 15:00"), 240)
    Obstacle.objects.create(
        company=company,
        crew=crew,
        house=house,
        at=local("2026-03-04 08:00"),
        reason="not_ready",
        item="heat",
    )
    assert only_month(company).lost == {Cause.OTHERS: 2, Cause.DRYING: 1, Cause.ELSEWHERE: 0}


def test_a_closed_area_keeps_from_the_work_that_lies_in_it_alone(company: Company) -> None:
    """Tuesday and Wednesday upstairs is closed, before a visit there; on Friday, before one below,
    upstairs keeps nobody out."""
    crew, house = make_crew(company), make_house(company)
    for day, area in (("02", "Below"), ("05", "Upstairs"), ("09", "Below")):
        row = visit(crew, house, f"2026-03-{day}")
        row.content["tasks"][0]["area"] = area
        row.save()
        worked(row, 240)
    above = house.areas.create(company=company, name="Upstairs")
    for first, last in ((3, 4), (6, 6)):
        days = {"first_day": date(2026, 3, first), "last_day": date(2026, 3, last)}
        above.closures.create(company=company, **days)
    assert only_month(company).lost == {Cause.OTHERS: 2, Cause.DRYING: 0, Cause.ELSEWHERE: 1}


def test_a_visit_of_which_nobody_said_anything_counts_as_done(company: Company) -> None:
    crew, house = make_crew(company), make_house(company)
    visit(crew, house, "2026-03-02")
    assert only_month(company).worked == 1


def test_a_day_on_which_nothing_was_done_is_lost(company: Company) -> None:
    crew, house = make_crew(company), make_house(company)
    worked(visit(crew, house, "2026-03-02"), 240)
    in_vain = visit(crew, house, "2026-03-03")
    reported(in_vain, in_vain.content["tasks"][0], Report.Kind.NOT_DONE, in_vain.starts_at)
    worked(visit(crew, house, "2026-03-04"), 240)
    row = only_month(company)
    assert (row.worked, sum(row.lost.values())) == (2, 1)


def test_a_day_on_which_half_of_the_work_was_done_is_worked(company: Company) -> None:
    crew, house = make_crew(company), make_house(company)
    row = visit(crew, house, "2026-03-02")
    left_at = row.starts_at + timedelta(hours=2)
    reported(row, row.content["tasks"][0], Report.Kind.NOT_DONE, left_at, minutes_left=120)
    assert only_month(company).worked == 1


def test_ways_between_houses_of_one_day_go_to_the_house_arrived_at(company: Company) -> None:
    """Without positions a way takes as long as the company says."""
    crew, one, two = make_crew(company), make_house(company), make_house(company, "Yard House")
    worked(visit(crew, one, "2026-03-02", hour=7), 120)
    worked(visit(crew, two, "2026-03-02", hour=12), 120)
    worked(visit(crew, one, "2026-03-03"), 120)
    found = look_back(company=company, first=FIRST, now=NOW).months
    ways = {row.house.name: row.travel_minutes for row in found}
    assert ways == {"Mill Cottage": 0, "Yard House": company.travel_minutes}


def test_looks_at_coats_by_hours_after_the_predicted_one(company: Company) -> None:
    """Ready at 7 said the plan: gone over at 8, an hour later; found wet at 8, three later."""
    crew, house = make_crew(company), make_house(company)
    worked(visit(crew, house, "2026-03-02", ready_at="2026-03-02 07:00"), 240)
    wet_at = local("2026-03-03 08:00")
    Report.objects.create(
        company=company,
        crew=crew,
        kind="not_dry",
        key="room:tape",
        at=wet_at,
        said_at=wet_at,
        about={"ready_at": local("2026-03-03 05:00").isoformat(), "house": str(house.public_id)},
    )
    found = look_back(company=company, first=FIRST, now=NOW)
    assert [(one.low, one.looks, one.wet) for one in found.waits if one.looks] == [
        (0.0, 1, 0),
        (2.0, 1, 1),
    ]
    (row,) = found.months
    assert (row.looks, row.wet) == (2, 1)


def test_of_one_house_alone(company: Company) -> None:
    crew, house, other = make_crew(company), make_house(company), make_house(company, "Yard House")
    worked(visit(crew, house, "2026-03-02"), 240)
    worked(visit(crew, other, "2026-03-03"), 240)
    assert only_month(company, house=other).house == other


def test_nothing_yet_and_nobody_elses(company: Company) -> None:
    other = make_company("Other Finishing")
    worked(visit(make_crew(other), make_house(other), "2026-03-02"), 240)
    found = look_back(company=company, first=FIRST, now=NOW)
    assert (found.months, sum(one.looks for one in found.waits)) == ([], 0)


def test_queries_are_as_many_however_much_there_is(
    company: Company, django_assert_num_queries: Any
) -> None:
    crew, house = make_crew(company), make_house(company)
    for number in range(10):
        day = date(2026, 3, 2) + timedelta(days=number)
        worked(visit(crew, house, f"{day:%Y-%m-%d}"), 240)
    with django_assert_num_queries(10):
        look_back(company=company, first=FIRST, now=NOW)
