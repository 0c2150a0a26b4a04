"""What whoever runs the server is told: alive, ready, how planning does."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, connection
from django.test import Client
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families
from pytest_django import Settings

from finishing.models import AirSource
from scheduling.models import PlanRun
from scheduling.services import ready
from scheduling.services.replan import request_run, run_replan
from tests.factories import make_company
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
TOKEN = "a token that nobody guesses"


def figures(client: Client) -> dict[tuple[str, str], float]:
    answer = client.get("/metrics", headers={"Authorization": f"Bearer {TOKEN}"})
    assert answer.status_code == 200
    return {
        (sample.name, ",".join(sample.labels.values())): sample.value
        for family in text_string_to_metric_families(answer.content.decode())
        for sample in family.samples
    }


def test_alive_without_a_database(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connection, "ensure_connection", failing)
    assert client.get("/healthz").status_code == 200
    answer = client.get("/readyz")
    assert (answer.status_code, answer.json()) == (503, {"database": False, "migrations": False})


def failing() -> None:
    raise DatabaseError


def test_ready(client: Client) -> None:
    answer = client.get("/readyz")
    assert (answer.status_code, answer.json()) == (200, {"database": True, "migrations": True})
    assert "no-store" in answer.headers["Cache-Control"]


def test_not_ready_while_a_migration_waits(client: Client, settings: Settings) -> None:
    settings.MIGRATION_MODULES = {}  # tests make tables without them, so all of them wait
    answer = client.get("/readyz")
    assert (answer.status_code, answer.json()) == (503, {"database": True, "migrations": False})


@pytest.mark.parametrize(("url", "there"), [("memory://", True), ("redis://127.0.0.1:1/0", False)])
def test_the_broker_is_asked_where_one_is_set(url: str, there: bool, settings: Settings) -> None:
    settings.CELERY_BROKER_URL = url
    assert ready.what_is_ready()["broker"] is there


@pytest.mark.parametrize("token", ["", "Bearer no", f"Basic {TOKEN}", f"Bearer {TOKEN}x"])
def test_figures_are_for_the_token_alone(token: str, client: Client, settings: Settings) -> None:
    assert client.get("/metrics", headers={"Authorization": token}).status_code == 404
    settings.METRICS_TOKEN = TOKEN
    answer = client.get("/metrics", headers={"Authorization": token})
    assert (answer.status_code, answer.content) == (401, b"")


def test_figures_of_runs_plans_and_air(client: Client, settings: Settings) -> None:
    settings.METRICS_TOKEN = TOKEN
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, seconds=0.1, work=1)
    plan = run_replan(run_id=run.pk)
    assert plan
    waiting = request_run(company=company, plan_from=MONDAY)
    now = timezone.now()
    PlanRun.objects.filter(pk=waiting.pk).update(requested_at=now - timedelta(minutes=5))
    AirSource.objects.create(
        company=make_company("Other"),
        name="north",
        kind=AirSource.Kind.FORECAST,
        fetched_at=now - timedelta(hours=2),
        failure="it did not answer",
    )
    found = figures(client)
    assert found["coatweave_runs", "done"] == found["coatweave_runs", "queued"] == 1
    assert found["coatweave_runs", "failed"] == 0
    assert found["coatweave_run_seconds_count", ""] == 1
    assert found["coatweave_run_seconds_sum", ""] > 0
    assert 300 <= found["coatweave_queue_age_seconds", ""] < 400
    assert found["coatweave_plan_visits", ""] == plan.visits > 0
    assert found["coatweave_plan_lateness_minutes", ""] == plan.lateness_minutes
    assert 7200 <= found["coatweave_air_age_seconds", "forecast"] < 7300
    assert found["coatweave_air_failing", ""] == 1


def test_calendars_are_counted_by_answer(client: Client, settings: Settings) -> None:
    settings.METRICS_TOKEN = TOKEN
    name = ("coatweave_feed_fetches_total", "404")
    before = figures(client).get(name, 0)
    client.get("/feeds/none/crew.ics")
    assert figures(client)[name] == before + 1
