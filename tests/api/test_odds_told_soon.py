"""Nobody who publishes from a page or over the API waits for the odds that calendars tell."""

from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.cache import cache
from django.utils import timezone
from kombu.exceptions import OperationalError
from pytest_django import Settings

from finishing.models import Company, House
from scheduling import jobs, tasks
from scheduling.models import FeedLink, Plan, Publication, ToldHandover
from scheduling.services import told_odds
from scheduling.services.kept_answers import kept_answer
from scheduling.services.links import blank_link
from scheduling.services.new_feeds import add_feed
from scheduling.services.odds import current_odds
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.api.rest.api_clients import program
from tests.plans import first_plan
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def simulated(monkeypatch: pytest.MonkeyPatch) -> list[Company]:
    """The companies whose plans were run forward, one by one. It is Monday, a moment later."""
    companies: list[Company] = []

    def noted(*, company: Company, **asked: Any) -> Any:
        companies.append(company)
        return current_odds(company=company, **asked)

    noted.__name__ = current_odds.__name__
    monkeypatch.setattr(told_odds, "current_odds", noted)
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)
    return companies


@pytest.fixture
def left(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The companies (pk) that were left to the thread, which does nothing of it."""
    companies: list[int] = []
    monkeypatch.setattr(jobs, "TELLING", SimpleNamespace(start=companies.append))
    return companies


def followed_site() -> tuple[Company, House, Plan]:
    """A planned company whose builder has a calendar."""
    company, house = make_site()
    plan = first_plan(company)
    add_feed(link=blank_link(company=company, house=house), now=MONDAY)
    return company, house, plan


@pytest.mark.parametrize("way", ["page", "API"])
def test_what_is_published_is_told_and_its_odds_a_moment_later(
    way: str, sign_in: SignIn, simulated: list[Company], left: list[int]
) -> None:
    company, house, plan = followed_site()
    if way == "page":
        done = sign_in(company).post(f"/plans/{plan.public_id}/publish/").status_code
    else:
        asker = program(company)
        done = asker.post("/api/v1/publications/", {"plan": str(plan.public_id)}).status_code
    assert done in (302, 201)
    assert Publication.objects.get().plan == plan
    told = ToldHandover.objects.get()
    assert (simulated, left) == ([], [company.pk])
    assert (told.holds_on, told.odds_revision) == (None, 0)
    assert FeedLink.objects.get(house=house).rendered_revision == 1, "all else is told at once"
    jobs.tell_published(left[0])
    (odds,) = current_odds(company=company, now=MONDAY).handovers
    told.refresh_from_db()
    assert (told.holds_on, told.odds_revision) == (odds.holds_on, 1)
    assert odds.holds_on is not None
    assert b"holds in 8 of 10" in bytes(FeedLink.objects.get(house=house).body)
    assert simulated == [company]


def test_odds_that_are_kept_are_told_at_once(simulated: list[Company], left: list[int]) -> None:
    company, house = make_site()
    first_plan(company)
    publish_plan(company=company, now=MONDAY)
    (odds,) = kept_answer(current_odds, company=company, now=MONDAY).handovers
    add_feed(link=blank_link(company=company, house=house), now=MONDAY, tell=jobs.tell_odds_soon)
    told = ToldHandover.objects.get()
    assert (told.holds_on, told.odds_revision) == (odds.holds_on, 1)
    assert (simulated, left) == ([], [])


def test_where_no_calendar_tells_of_handovers_nobody_is_asked(left: list[int]) -> None:
    company, _ = make_site()
    first_plan(company)
    publish_plan(company=company, now=MONDAY, tell=jobs.tell_odds_soon)
    assert left == []


@pytest.mark.parametrize("broker", ["there", "away"])
def test_a_worker_tells_them_or_a_thread_where_none_is_told(
    broker: str, settings: Settings, left: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.CELERY_BROKER_URL = "memory://"
    sent: list[int] = []

    def send(company_id: int) -> None:
        if broker == "away":
            raise OperationalError("Connection refused")
        sent.append(company_id)

    monkeypatch.setattr(tasks.tell_published, "delay", send)
    company, _, _ = followed_site()
    publish_plan(company=company, now=MONDAY, tell=jobs.tell_odds_soon)
    assert (sent, left) == (([company.pk], []) if broker == "there" else ([], [company.pk]))


def test_what_nobody_told_is_asked_for_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(minutes=1))
    sent: list[int] = []
    monkeypatch.setattr(tasks.tell_published, "delay", sent.append)
    company, _, _ = followed_site()
    publish_plan(company=company, now=MONDAY, tell=lambda **_about: None)  # a process that is gone
    tasks.sweep_odds()
    tasks.sweep_odds()
    assert sent == [company.pk], "somebody is at it"
    cache.clear()  # as after ten minutes
    tasks.sweep_odds()
    assert sent == [company.pk] * 2
    tasks.tell_published(company.pk)
    cache.clear()
    tasks.sweep_odds()
    assert sent == [company.pk] * 2, "all is told"
