"""When the coats of a visit ended that its crew has reported finished, and what waits for them."""

from datetime import datetime, timedelta
from uuid import uuid4

import pytest

from finishing.models import Company
from scheduling.models import Visit
from scheduling.services.sent_reports import Sent
from scheduling.services.visit_reports import say_finished, say_started
from scheduling.services.wet_visits import wet_visits
from tests.plans import published_from
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

MINUTE = timedelta(minutes=1)


@pytest.fixture(params=[{"system": "All-purpose drying"}, {}], ids=["drying", "setting"])
def company(request: pytest.FixtureRequest) -> Company:
    """Three rooms, published: the second coat comes to each as soon as the tape coat there will
    bear it, a day later in drying compound and two hours later in setting."""
    company, _house = make_site(rooms=("Hall", "Kitchen", "Stairs"), **request.param)
    published_from(company, MONDAY)
    return company


def first_visit(company: Company) -> Visit:
    return Visit.objects.filter(company=company).order_by("starts_at")[0]


def sent(visit: Visit, at: datetime) -> Sent:
    return Sent(uuid4(), visit.crew, visit, at, at)


def ready(company: Company, at: datetime) -> dict[str, datetime]:
    """Return by room when a coat is ready, of those that the next visit comes too early for."""
    found = wet_visits(company=company, now=at)
    return {coat.room: coat.ready_at for wet in found for coat in wet.coats}


def due(visit: Visit) -> dict[str, datetime]:
    """Return by room when the visit after this one begins with it."""
    after = Visit.objects.filter(starts_at__gt=visit.starts_at).order_by("starts_at")[0]
    return {t["room"]: datetime.fromisoformat(t["starts_at"]) for t in after.content["tasks"]}


def test_a_visit_finished_as_published_makes_nothing_too_early(company: Company) -> None:
    """Its end is that of washing up; each coat was over before that, one after another."""
    visit = first_visit(company)
    last = datetime.fromisoformat(visit.content["tasks"][-1]["ends_at"])
    assert last < visit.ends_at
    say_finished(sent(visit, visit.ends_at), {})
    assert ready(company, visit.ends_at) == {}


def test_a_visit_that_ran_on_makes_each_coat_as_much_later_and_no_more(company: Company) -> None:
    visit, at = first_visit(company), first_visit(company).ends_at + 10 * MINUTE
    say_finished(sent(visit, at), {})
    assert ready(company, at) == {room: when + 10 * MINUTE for room, when in due(visit).items()}


def test_a_late_start_counts_though_the_end_was_as_published(company: Company) -> None:
    visit = first_visit(company)
    say_started(sent(visit, visit.starts_at + 10 * MINUTE))
    say_finished(sent(visit, visit.ends_at), {})
    later = {room: when + 10 * MINUTE for room, when in due(visit).items()}
    assert ready(company, visit.ends_at) == later


def test_what_ended_before_it_was_planned_to_ended_when_it_was_reported(company: Company) -> None:
    visit = first_visit(company)
    at = datetime.fromisoformat(visit.content["tasks"][0]["ends_at"])
    say_finished(sent(visit, at), {})
    assert ready(company, at) == {}
