"""Celery's tasks and its clock: called as functions, without a broker."""

from datetime import timedelta
from typing import Any

import httpx
import pytest
from django.utils import timezone
from pytest_django import Settings

from finishing.config.celery import app, beat_schedule
from finishing.models import AirSource
from scheduling import tasks
from scheduling.models import PlanRun
from scheduling.services.replan import request_run
from tests.factories import make_company, make_house
from tests.forecast_answers import forecast_answer
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

HERE: dict[str, Any] = {"latitude": 53.3441, "longitude": -6.2637}


@pytest.fixture
def asked(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> list[httpx.URL]:
    """Addresses that were asked for, each answered with a forecast for the days about now."""
    first = timezone.now().replace(hour=0, minute=0) - timedelta(days=1)
    settings.FORECAST_URL, settings.FORECAST_KEY = "https://forecast.example/", "sesame"
    urls: list[httpx.URL] = []

    def answer(_: httpx.HTTPTransport, request: httpx.Request) -> httpx.Response:
        urls.append(request.url)
        return httpx.Response(200, json=forecast_answer(first=f"{first:%Y-%m-%dT%H:%M}"))

    monkeypatch.setattr(httpx.HTTPTransport, "handle_request", answer)
    return urls


def test_a_plan_is_made_by_its_runs_id() -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, work=1)
    tasks.replan(run.pk)
    run.refresh_from_db()
    assert run.status == "done"


def test_every_company_but_the_demo_has_its_air_refreshed(
    celery_here: None, asked: list[httpx.URL]
) -> None:
    for name, is_demo in (("North", False), ("South", False), ("Demo", True)):
        make_house(make_company(name, is_demo=is_demo), f"{name} house", **HERE)
    tasks.refresh_all_air()
    sources = AirSource.objects.order_by("company__name")
    assert list(sources.values_list("company__name", flat=True)) == ["North", "South"]
    assert all(source.fetched_at and not source.failure for source in sources)
    assert len(asked) == 2
    tasks.refresh_all_air()
    assert len(asked) == 2, "what is young is left as it is"


def test_without_an_address_the_task_asks_nobody(
    asked: list[httpx.URL], settings: Settings
) -> None:
    settings.FORECAST_URL = ""
    company = make_company()
    make_house(company, **HERE)
    tasks.refresh_air(company.pk)
    assert asked == []


def test_the_clock_asks_for_forecasts_only_where_there_is_an_address() -> None:
    always = {"sweep_runs", "sweep_outgoing", "sweep_odds", "cut_old_problems"}
    assert set(beat_schedule(forecasts=False)) == always
    scheduled = beat_schedule(forecasts=True)
    assert set(scheduled) == always | {"refresh_air"}
    names = {row["task"] for row in scheduled.values()}
    assert names <= app.tasks.keys(), "the clock names tasks that there are"


def test_plans_and_air_wait_in_queues_of_their_own() -> None:
    queues = {
        name: app.amqp.router.route({}, name)["queue"].name
        for name in app.tasks
        if name.startswith("scheduling.")
    }
    assert {name.rpartition(".")[2] for name, queue in queues.items() if queue == "planning"} == {
        "replan"
    }
    assert {name.rpartition(".")[2] for name, queue in queues.items() if queue == "air"} == {
        "find_answer", "refresh_air", "refresh_all_air", "tell_published",
    }  # fmt: skip
    assert set(queues.values()) == {"planning", "air", "sending"}
    assert set(app.amqp.queues) == set(queues.values()), "a worker that is told none does all"


def test_redis_gives_out_first_what_somebody_waits_for() -> None:
    """Redis reads its lists in the order of the steps; kombu puts a priority into the step below
    it (its documentation, "Redis transport, message priorities")."""
    steps = app.conf.broker_transport_options["priority_steps"]
    assert steps == sorted(PlanRun.Priority.values)


def test_proposals_of_the_night_are_asked_for_where_that_is_set() -> None:
    assert "plan_at_night" not in beat_schedule(forecasts=False)
    schedule = beat_schedule(forecasts=False, nights=True)["plan_at_night"]["schedule"]
    assert (schedule.hour, schedule.minute) == ({1}, {5})
