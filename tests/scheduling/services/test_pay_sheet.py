"""A crew's pay from what it reported."""

from datetime import date, timedelta
from typing import Any

import pytest

from finishing.models import Company, Crew, House, PayTerm
from finishing.services.errors import InputFaults
from finishing.services.pay_terms import add_pay_term
from scheduling.models import ExtraWork, Report, Visit
from scheduling.services.pay_sheet import PaySheet, Remark, pay_sheet
from tests.factories import local, make_company, make_crew, make_house
from tests.reported import reported, worked
from tests.scheduling.services.test_looking_back import visit as bare_visit

pytestmark = pytest.mark.django_db
FIRST, LAST = date(2026, 3, 2), date(2026, 3, 8)
NOW = local("2026-03-20 12:00")


@pytest.fixture
def crew() -> Crew:
    return make_crew(make_company(), heads=2)


@pytest.fixture
def house(crew: Crew) -> House:
    return make_house(crew.company)


def visit(crew: Crew, house: House, day: str, *, area_m2: float | None = 50.0) -> Visit:
    """A published visit of the crew's two people, from 8 to 12, with so many square metres."""
    row = bare_visit(crew, house, day)
    row.content["tasks"][0]["area_m2"] = area_m2
    row.save()
    for person in ("North crew 1", "North crew 2"):
        stamps = {"created_at": row.starts_at, "modified_at": row.starts_at}
        row.people.create(company=crew.company, person=person, **stamps)
    return row


def agree(company: Company, **values: Any) -> PayTerm:
    usual = {"crew": None, "person": "", "stage": "", "since": date(2026, 1, 1)}
    return add_pay_term(company=company, values={**usual, **values})


def sheet(crew: Crew) -> PaySheet:
    return pay_sheet(company=crew.company, crew=crew, first=FIRST, last=LAST, now=NOW)


def remarks(crew: Crew) -> list[tuple[Remark, ...]]:
    return [one.remarks for one in sheet(crew).visits]


def test_by_the_hour_each_of_the_crew(crew: Crew, house: House) -> None:
    """Four hours and ten minutes at 18.35 are 76.458, so 76.46 each."""
    agree(crew.company, crew=crew, amount=1835)
    worked(visit(crew, house, "2026-03-02"), 250)
    found = sheet(crew)
    assert found.by_payee == {"North crew 1": 7646, "North crew 2": 7646}
    assert found.total == 15292


def test_sums_are_sums_of_rounded_visits(crew: Crew, house: House) -> None:
    """Three visits of 10 minutes at 10.01 are 1.67 each: 5.01, not the 5.005 of half an hour."""
    agree(crew.company, crew=crew, amount=1001)
    for day in ("2026-03-02", "2026-03-03", "2026-03-04"):
        worked(visit(crew, house, day), 10)
    assert sheet(crew).by_payee == {"North crew 1": 501, "North crew 2": 501}


def test_by_the_square_metre_with_somebody_by_the_hour(crew: Crew, house: House) -> None:
    agree(crew.company, crew=crew, stage="second", amount=120)
    agree(crew.company, person="North crew 2", amount=1200)
    worked(visit(crew, house, "2026-03-02"), 240)
    assert sheet(crew).by_payee == {"": 6000, "North crew 2": 4800}


def test_an_agreement_holds_from_its_day_until_the_next(crew: Crew, house: House) -> None:
    agree(crew.company, crew=crew, amount=1000)
    agree(crew.company, crew=crew, amount=2000, since=date(2026, 3, 4))
    for day in ("2026-03-03", "2026-03-04"):
        worked(visit(crew, house, day), 60)
    assert [one.total for one in sheet(crew).visits] == [2000, 4000]


def test_what_nobody_reported_is_listed_and_not_paid(crew: Crew, house: House) -> None:
    agree(crew.company, crew=crew, amount=2000)
    visit(crew, house, "2026-03-02")
    found = sheet(crew)
    assert (found.total, remarks(crew)) == (0, [(Remark.SILENT,)])


def test_a_start_that_was_not_reported_is_the_published_one_and_says_so(
    crew: Crew, house: House
) -> None:
    agree(crew.company, crew=crew, amount=2000)
    worked(visit(crew, house, "2026-03-02"), 120, started=False)
    (one,) = sheet(crew).visits
    assert (one.start_said, one.minutes, one.total) == (False, 120, 8000)


def test_a_finish_on_another_day_is_listed_and_not_paid(crew: Crew, house: House) -> None:
    agree(crew.company, crew=crew, amount=2000)
    worked(visit(crew, house, "2026-03-02"), 60 * 30)
    assert remarks(crew) == [(Remark.NO_END,)]
    assert sheet(crew).total == 0


def test_work_left_is_paid_by_the_hour(crew: Crew, house: House) -> None:
    agree(crew.company, crew=crew, amount=2000)
    row = visit(crew, house, "2026-03-02")
    task, left_at = row.content["tasks"][0], row.starts_at + timedelta(hours=2)
    reported(row, task, Report.Kind.STARTED, row.starts_at)
    reported(row, task, Report.Kind.NOT_DONE, left_at, minutes_left=60)
    assert sheet(crew).total == 8000


def test_extra_work_that_was_noted_is_paid_by_the_hour(crew: Crew, house: House) -> None:
    """50 m2 at 1.20, and two of the eight person-hours at 20.00: an hour of each."""
    agree(crew.company, crew=crew, amount=2000)
    agree(crew.company, crew=crew, stage="second", amount=120)
    row = visit(crew, house, "2026-03-02")
    worked(row, 240)
    ExtraWork.objects.create(
        company=crew.company,
        crew=crew,
        house=house,
        visit=row,
        at=row.starts_at,
        what="Loft hatch",
        person_minutes=120,
    )
    assert sheet(crew).by_payee == {"": 6000, "North crew 1": 2000, "North crew 2": 2000}
    assert not sheet(crew).without_visit
    row.delete()
    assert [one.what for one in sheet(crew).without_visit] == ["Loft hatch"]
    assert sheet(crew).total == 0


def test_others_than_planned_are_paid_by_the_crews_rate(crew: Crew, house: House) -> None:
    agree(crew.company, crew=crew, amount=2000)
    agree(crew.company, person="North crew 2", amount=1200)
    worked(visit(crew, house, "2026-03-02"), 60, people=3)
    assert sheet(crew).by_payee == {"#1": 2000, "#2": 2000, "#3": 2000}
    assert remarks(crew) == [(Remark.HEADS,)]


def test_without_an_agreement_it_says_so(crew: Crew, house: House) -> None:
    worked(visit(crew, house, "2026-03-02"), 60)
    assert remarks(crew) == [(Remark.NO_RATE,)]
    agree(crew.company, crew=crew, stage="second", amount=100)
    Visit.objects.all().delete()
    worked(visit(crew, house, "2026-03-03", area_m2=None), 60)
    assert remarks(crew) == [(Remark.AREA_UNKNOWN,)]


def test_only_the_crews_own_visits_of_the_period(crew: Crew, house: House) -> None:
    agree(crew.company, crew=crew, amount=2000)
    other = make_crew(crew.company, "South crew")
    worked(visit(other, house, "2026-03-02"), 60)
    for day in ("2026-03-01", "2026-03-09"):
        worked(visit(crew, house, day), 60)
    assert sheet(crew).visits == []


def test_all_faults_of_an_agreement_at_once(crew: Crew) -> None:
    with pytest.raises(InputFaults) as nobody:
        agree(crew.company, stage="tape", amount=0)
    assert {fault.place for fault in nobody.value.faults} >= {"amount"}
    with pytest.raises(InputFaults, match="whole crew"):
        agree(crew.company, person="Ann", stage="tape", amount=100)
    agree(crew.company, person="Ann", amount=100)
    with pytest.raises(InputFaults, match="already"):
        agree(crew.company, person="Ann", amount=200)


def test_it_takes_a_fixed_number_of_queries(
    crew: Crew, house: House, django_assert_num_queries: Any
) -> None:
    for day in ("2026-03-02", "2026-03-03"):
        worked(visit(crew, house, day), 60)
    with django_assert_num_queries(8):
        sheet(crew)
