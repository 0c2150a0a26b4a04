"""What a crew's taps come to: when it worked, what it did, what it is paid and what it says of
rates."""

from datetime import datetime, timedelta
from uuid import uuid4

import pytest

from finishing.models import Crew
from finishing.services.pay_terms import add_pay_term
from scheduling.models import Report, Visit
from scheduling.services.for_the_office import say_extra_work
from scheduling.services.pay_sheet import Remark, SheetVisit, pay_sheet
from scheduling.services.rate_jobs import present_rates, rate_jobs
from scheduling.services.reported_visits import ReportedVisit, reported_visits
from scheduling.services.sent_reports import Sent
from scheduling.services.visit_reports import say_finished, say_started
from tests.plans import published_from
from tests.reported import reported
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)
MINUTE = timedelta(minutes=1)
SET_UP, WASH_UP = 15 * MINUTE, 10 * MINUTE


@pytest.fixture
def visit(db: None) -> Visit:
    """The first of two people's published visits, at 60.00 an hour, with set-up and wash-up."""
    company, _house = make_site(rooms=("Hall", "Kitchen"))
    company.setup_minutes, company.washup_minutes = 15, 10
    company.save()
    published_from(company, MONDAY)
    usual = {"person": "", "stage": "", "since": MONDAY.date()}
    crew = Crew.objects.get(company=company)
    add_pay_term(company=company, values={**usual, "crew": crew, "amount": 6000})
    return Visit.objects.filter(company=company).order_by("starts_at")[0]


def tapped(visit: Visit, at: datetime) -> Sent:
    return Sent(uuid4(), visit.crew, visit, at, at)


def told_of(visit: Visit) -> ReportedVisit:
    (one,) = reported_visits(visit.company, visit.starts_at, visit.starts_at + MINUTE)
    return one


def paid(visit: Visit) -> int:
    """Return what the visit is paid, in minor units: a minute of one person is 100."""
    return on_sheet(visit).total


def remarks(visit: Visit) -> tuple[Remark, ...]:
    return on_sheet(visit).remarks


def on_sheet(visit: Visit) -> SheetVisit:
    day = visit.starts_at.date()
    now = visit.ends_at + timedelta(days=1)
    sheet = pay_sheet(company=visit.company, crew=visit.crew, first=day, last=day, now=now)
    (one,) = [one for one in sheet.visits if one.reported.visit == visit]
    return one


def minutes(length: timedelta) -> int:
    return length // MINUTE


def test_what_is_finished_before_its_set_up_is_over_says_so(visit: Visit) -> None:
    say_started(tapped(visit, visit.starts_at))
    say_finished(tapped(visit, visit.starts_at + 5 * MINUTE), {})
    assert told_of(visit).done
    assert remarks(visit) == (Remark.NO_WORK,)


def test_a_visit_as_published_took_what_was_published(visit: Visit) -> None:
    say_started(tapped(visit, visit.starts_at))
    say_finished(tapped(visit, visit.ends_at), {})
    one = told_of(visit)
    assert (one.set_up, one.wash_up) == (SET_UP, WASH_UP)
    assert (one.started_at, one.ended_at) == (visit.starts_at + SET_UP, visit.ends_at - WASH_UP)
    assert {task["key"] for task in one.done} == {task["key"] for task in visit.content["tasks"]}
    assert not one.left
    assert not one.silent
    assert paid(visit) == 2 * 100 * minutes(visit.ends_at - visit.starts_at)
    (job,) = rate_jobs([one], present_rates(visit.company))
    assert job.job.actual == 2 * minutes(visit.ends_at - visit.starts_at - SET_UP - WASH_UP)


def test_a_visit_that_came_late_and_left_early_took_what_was_between(visit: Visit) -> None:
    came, left = visit.starts_at + 5 * MINUTE, visit.ends_at - 20 * MINUTE
    say_started(tapped(visit, came))
    say_started(tapped(visit, came + 7 * MINUTE))
    say_finished(tapped(visit, left), {})
    one = told_of(visit)
    assert (one.started_at, one.ended_at) == (came + SET_UP, left - WASH_UP)
    assert paid(visit) == 2 * 100 * minutes(left - came)


def test_what_was_left_who_was_there_and_extra_work_are_told(visit: Visit) -> None:
    first, *_ = tasks = visit.content["tasks"]
    planned = datetime.fromisoformat(first["ends_at"]) - datetime.fromisoformat(first["starts_at"])
    say_started(tapped(visit, visit.starts_at))
    say_extra_work(tapped(visit, visit.ends_at), what="Loft hatch", person_minutes=30)
    left = {first["key"]: minutes(planned) // 2}
    say_finished(tapped(visit, visit.ends_at), left, people=3)
    one = told_of(visit)
    assert (len(one.left), len(one.done), one.partly) == (1, len(tasks) - 1, True)
    assert (one.heads, one.extra_minutes) == (3, 30)
    assert paid(visit) == 3 * 100 * minutes(visit.ends_at - visit.starts_at)


def test_nothing_but_set_up_and_wash_up_is_no_work(visit: Visit) -> None:
    say_started(tapped(visit, visit.starts_at))
    say_finished(tapped(visit, visit.starts_at + SET_UP), {})
    one = told_of(visit)
    assert one.started_at == one.ended_at == visit.starts_at + SET_UP
    assert not rate_jobs([one], present_rates(visit.company))


def test_what_the_office_reports_is_of_the_work_itself(visit: Visit) -> None:
    begun, ended = visit.starts_at + SET_UP, visit.ends_at - WASH_UP
    reported(visit, visit.content["tasks"][0], Report.Kind.STARTED, begun)
    for task in visit.content["tasks"]:
        reported(visit, task, Report.Kind.DONE, ended)
    one = told_of(visit)
    assert (one.started_at, one.ended_at) == (begun, ended)
    assert paid(visit) == 2 * 100 * minutes(visit.ends_at - visit.starts_at)
