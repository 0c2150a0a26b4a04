"""What whoever runs a site is told by it: figures of all its processes together, and lines that
name the run."""

import json
import os
import signal
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from urllib.request import Request, urlopen

import pytest
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families

from finishing.models import AirSource
from scheduling import jobs
from scheduling.models import CompanyPlans
from scheduling.queries.links import links_of_company
from scheduling.services.links import feed_address
from tests.production.servers import await_that, free_port
from tests.production.stack import Stack
from tests.production.test_killed_pages import answers
from tests.production.test_killed_workers import all_over
from tests.production.told import told_company
from tests.sites import MONDAY

pytestmark = pytest.mark.services

TOKEN, FETCHES, WITHIN_S = "a token that nobody guesses", 20, 120.0


def test_figures_and_lines_of_a_site_with_several_processes(
    stack: Stack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.services.replan.PROPOSAL_SECONDS", 0.2)
    counts = tmp_path / "counts"
    counts.mkdir()
    more = {"COATWEAVE_METRICS_TOKEN": TOKEN, "COATWEAVE_LOG_FORMAT": "json"}
    stack = replace(stack, more=more | {"PROMETHEUS_MULTIPROC_DIR": str(counts)})
    company, port = told_company(), free_port()
    hours_ago = timezone.now() - timedelta(hours=3)
    AirSource.objects.create(
        company=company, name="north", kind=AirSource.Kind.FORECAST, fetched_at=hours_ago
    )
    (link, *_) = links_of_company(company)
    with stack.pages(port, "--workers", "2") as pages, stack.worker("--loglevel", "INFO"):
        await_that(lambda: answers(port), "pages answer", WITHIN_S)
        for _ in range(FETCHES):
            calendar = fetched(port, feed_address(link).partition("8000")[2])
        assert calendar.startswith("BEGIN:VCALENDAR")
        run = jobs.request_replan(company=company, now=MONDAY)
        await_that(lambda: all_over([run]), "the run is over", WITHIN_S)
        seen = [figures(port) for _ in range(6)]
        os.kill(pages.children()[0], signal.SIGKILL)
        await_that(lambda: answers(port), "pages answer again", WITHIN_S)
        seen.append(figures(port))
    assert [of["coatweave_feed_fetches_total", "200"] for of in seen] == [FETCHES] * len(seen)
    plan = CompanyPlans.objects.get(company=company).working
    assert plan is not None
    for found in seen:
        assert found["coatweave_runs", "done"] == 2
        assert found["coatweave_run_seconds_count", ""] == 1, "the first was made by no worker"
        assert found["coatweave_plan_lateness_minutes", ""] == plan.lateness_minutes
        assert found["coatweave_queue_age_seconds", ""] == 0
        assert 3 * 3600 <= found["coatweave_air_age_seconds", "forecast"] < 4 * 3600
    assert {"planning begins", "planning is done"} <= {
        line["message"].partition(":")[0]
        for line in lines(stack.log("celery"))
        if line["run"] == str(run.public_id)
    }
    written = stack.log("celery").read_text() + stack.log("gunicorn").read_text()
    assert list(lines(stack.log("gunicorn"))), "gunicorn writes lines of JSON too"
    assert feed_address(link).split("/")[-2] not in written, "no secret of a calendar"


def fetched(port: int, path: str, **headers: str) -> str:
    with urlopen(Request(f"http://127.0.0.1:{port}{path}", headers=headers), timeout=30) as answer:
        return str(answer.read().decode())


def figures(port: int) -> dict[tuple[str, str], float]:
    """Return the figures as Prometheus' own reader reads them."""
    return {
        (sample.name, ",".join(sample.labels.values())): sample.value
        for family in text_string_to_metric_families(
            fetched(port, "/metrics", Authorization=f"Bearer {TOKEN}")
        )
        for sample in family.samples
    }


def lines(log: Path) -> Iterator[dict[str, str]]:
    """Yield what a process has logged; Celery writes a banner before."""
    for line in log.read_text().splitlines():
        if line.startswith("{"):
            yield json.loads(line)
