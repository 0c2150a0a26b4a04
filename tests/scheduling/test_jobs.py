"""Planning that a page asks for, by either runner."""

import threading
from datetime import timedelta

import pytest
from django.db import connections, transaction
from pytest_django import Settings

from scheduling import jobs
from scheduling.models import CompanyPlans, PlanRun
from scheduling.one_thread import OneThread
from scheduling.services.lost_runs import AROUND_SEARCHING, look_for_lost_runs
from scheduling.services.night_runs import NIGHT_SECONDS, request_night_runs
from scheduling.services.replan import request_run, run_replan
from scheduling.tasks import replan, sweep_runs
from tests.factories import make_company
from tests.sites import MONDAY, make_site, utc

pytestmark = pytest.mark.django_db(transaction=True)

LONG_ENOUGH_S = 60.0


@pytest.fixture
def broker(settings: Settings, celery_here: None) -> None:
    settings.CELERY_BROKER_URL = "memory://"


def standing(run: PlanRun) -> str:
    return PlanRun.objects.get(pk=run.pk).status


def test_the_thread_of_this_process_makes_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    company, _ = make_site()
    over = threading.Event()

    def work(run_id: int) -> None:
        try:
            PlanRun.objects.filter(pk=run_id).update(seconds=0.1)
            run_replan(run_id=run_id)
        finally:
            connections["default"].connection.close()  # Django keeps those of databases in memory
            over.set()

    monkeypatch.setattr(jobs, "HERE", OneThread(work))
    run = jobs.request_replan(company=company, now=MONDAY)
    assert over.wait(LONG_ENOUGH_S)
    run.refresh_from_db()
    assert (run.status, run.error, run.plan_from) == ("done", "", MONDAY)
    assert CompanyPlans.objects.get(company=company).working == run.plans.get()


def test_celery_makes_the_plan(
    broker: None, started: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.services.replan.AFRESH_SECONDS", 0.1)
    company, _ = make_site()
    run = jobs.request_replan(company=company, now=MONDAY)
    run.refresh_from_db()
    assert (run.status, run.error) == ("done", "")
    assert started == [], "the thread has no part in it"


def test_a_run_begins_only_once_its_row_is_there_for_all(started: list[int]) -> None:
    company = make_company()
    with transaction.atomic():
        run = jobs.request_replan(company=company, now=MONDAY)
        assert started == []
    assert started == [run.pk]


def test_a_second_click_leads_to_the_run_that_has_not_begun(started: list[int]) -> None:
    company, other = make_company(), make_company("Other Finishing")
    run = jobs.request_replan(company=company, now=MONDAY)
    later = MONDAY + timedelta(minutes=1)
    assert jobs.request_replan(company=company, now=later) == run
    run.refresh_from_db()
    assert run.plan_from == later, "it reads the rows when it begins"
    theirs = jobs.request_replan(company=other, now=MONDAY)
    assert started == [run.pk, theirs.pk]


def test_a_newer_request_stops_what_goes_on_for_its_company_alone(started: list[int]) -> None:
    company, other = make_company(), make_company("Other Finishing")
    older, theirs = (jobs.request_replan(company=who, now=MONDAY) for who in (company, other))
    PlanRun.objects.update(status="running", claimed_at=MONDAY)
    newer = jobs.request_replan(company=company, now=MONDAY)
    older.refresh_from_db()
    assert (older.status, older.overtaken_by, older.stop_requested) == ("failed", newer, True)
    assert (standing(newer), standing(theirs)) == ("queued", "running")
    assert started == [older.pk, theirs.pk, newer.pk]


def test_a_stopped_run_ends_soon_and_stores_nothing(
    started: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    company, _ = make_site()
    run = jobs.request_replan(company=company, now=MONDAY)
    asked: list[PlanRun] = []

    def ask_meanwhile(*_: object) -> None:
        if not asked:
            asked.append(jobs.request_replan(company=company, now=MONDAY))

    monkeypatch.setattr("scheduling.services.replan.note_progress", ask_meanwhile)
    assert run_replan(run_id=run.pk) is None
    run.refresh_from_db()
    assert (run.status, run.overtaken_by, run.plans.count()) == ("failed", asked[0], 0)
    assert run.error.startswith("NewerRunError")
    assert not CompanyPlans.objects.filter(company=company).exists()


def test_of_two_that_were_asked_for_the_newer_one_is_done(started: list[int]) -> None:
    """Their messages come in any order."""
    company, _ = make_site()
    older, newer = (request_run(company=company, plan_from=MONDAY, seconds=0.1) for _ in range(2))
    PlanRun.objects.filter(pk=newer.pk).update(status="running", claimed_at=MONDAY)
    assert run_replan(run_id=older.pk) is None
    assert (standing(older), standing(newer)) == ("failed", "running")
    PlanRun.objects.update(status="running", claimed_at=MONDAY)
    PlanRun.objects.filter(pk=newer.pk).update(status="queued", work=1)
    assert run_replan(run_id=newer.pk)
    assert (standing(older), standing(newer)) == ("failed", "done")


def test_a_run_of_the_night_goes_first_once_somebody_waits_for_it(
    started: list[int], monkeypatch: pytest.MonkeyPatch, settings: Settings
) -> None:
    company, _ = make_site()
    assert request_night_runs(now=MONDAY) == [], "its crews have been told nothing"
    monkeypatch.setattr("scheduling.services.night_runs.latest_publication", lambda _: company)
    (run,) = request_night_runs(now=MONDAY)
    assert (run.priority, run.seconds) == (PlanRun.Priority.BY_THE_CLOCK, NIGHT_SECONDS)
    assert request_night_runs(now=MONDAY) == [], "one waits already"
    sent: list[int] = []
    monkeypatch.setattr(replan, "apply_async", lambda **said: sent.append(said["priority"]))
    settings.CELERY_BROKER_URL = "memory://"
    assert jobs.request_replan(company=company, now=MONDAY) == run
    assert jobs.request_replan(company=company, now=MONDAY) == run
    assert sent == [PlanRun.Priority.ASKED]


def test_a_run_whose_process_is_gone_bars_the_way_for_minutes_only(started: list[int]) -> None:
    company = make_company()
    lost = jobs.request_replan(company=company, now=MONDAY)
    PlanRun.objects.filter(pk=lost.pk).update(status="running", claimed_at=MONDAY)
    later = MONDAY + AROUND_SEARCHING + timedelta(minutes=1)
    assert jobs.request_replan(company=company, now=later) != lost
    lost.refresh_from_db()
    assert (lost.status, lost.finished_at) == ("failed", later)
    assert lost.error.startswith("StuckRunError")


@pytest.mark.parametrize(("seconds", "minutes"), [(10.0, 5), (3600.0, 240)])
def test_a_run_that_may_still_be_going_on_is_not_given_up(seconds: float, minutes: int) -> None:
    run = request_run(company=make_company(), plan_from=MONDAY, seconds=seconds)
    PlanRun.objects.filter(pk=run.pk).update(status="running", claimed_at=MONDAY)
    look_for_lost_runs(now=MONDAY + timedelta(minutes=minutes))
    assert standing(run) == "running"
    look_for_lost_runs(now=MONDAY + timedelta(minutes=minutes + 6))
    assert standing(run) == "failed"


def test_a_lost_run_is_started_again_by_whoever_looks_first(
    started: list[int], broker: None, settings: Settings
) -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, seconds=0.1)
    lost = {"status": "running", "claimed_at": MONDAY, "lease_until": MONDAY, "attempts": 1}
    PlanRun.objects.filter(pk=run.pk).update(**lost)
    settings.CELERY_BROKER_URL = ""
    jobs.look_after_runs(now=MONDAY + timedelta(seconds=1))
    jobs.look_after_runs(now=MONDAY + timedelta(seconds=1))
    assert (standing(run), started) == ("queued", [run.pk])
    settings.CELERY_BROKER_URL = "memory://"
    PlanRun.objects.filter(pk=run.pk).update(**lost)
    sweep_runs()
    assert (standing(run), run.plans.count()) == ("done", 1)


def test_whoever_asks_for_a_plan_leads_to_one_that_was_lost_and_begins_anew(
    started: list[int],
) -> None:
    company = make_company()
    lost = jobs.request_replan(company=company, now=MONDAY)
    PlanRun.objects.filter(pk=lost.pk).update(status="running", lease_until=MONDAY, attempts=1)
    later = MONDAY + timedelta(minutes=1)
    assert jobs.request_replan(company=company, now=later) == lost
    lost.refresh_from_db()
    assert (lost.status, lost.plan_from, lost.attempts) == ("queued", later, 1)
    assert started == [lost.pk, lost.pk]


def test_a_run_that_never_began_is_started_again(started: list[int]) -> None:
    run = request_run(company=make_company(), plan_from=MONDAY)
    jobs.look_after_runs(now=run.requested_at + timedelta(seconds=59))
    assert started == [], "it may be about to begin"
    jobs.look_after_runs(now=run.requested_at + timedelta(seconds=61))
    assert started == [run.pk]
    PlanRun.objects.filter(pk=run.pk).update(status="running", claimed_at=run.requested_at)
    jobs.look_after_runs(now=run.requested_at + timedelta(seconds=120))
    assert started == [run.pk]


def test_with_celery_its_clock_starts_them_again(broker: None, started: list[int]) -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, seconds=0.1)
    jobs.look_after_runs(now=run.requested_at + timedelta(minutes=2))
    assert standing(run) == "queued"
    sweep_runs()
    assert standing(run) == "queued", "it was asked for just now"
    PlanRun.objects.filter(pk=run.pk).update(requested_at=utc("2026-03-01 00:00"))
    sweep_runs()
    assert standing(run) == "done"
    assert started == []
