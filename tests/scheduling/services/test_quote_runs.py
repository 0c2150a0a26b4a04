"""Runs that work quotes out: beside all that is planned and told, one at a time for each quote."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from finishing.models import House, Quote
from finishing.services.errors import InputFaults
from finishing.services.quotes import change_quote, remove_quote, win_quote
from scheduling import jobs
from scheduling.models import FeedLink, PlanRun
from scheduling.queries.runs import last_runs, newest_run, run_of, unfinished_run
from scheduling.run_wording import failure_sentence, what_next_sentence
from scheduling.services import quote_runs
from scheduling.services.engine import Solved
from scheduling.services.overtaking import stop_older_runs
from scheduling.services.replan import request_run, run_replan
from scheduling.services.run_steps import search_seconds_left
from tests.plans import first_plan, published_from
from tests.quotes import FOUND, ROOMS, asked_for, quote_like, worked_out
from tests.scenarios import rows_beside_scenarios
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)
BEFORE = MONDAY - timedelta(days=3)


@pytest.fixture
def house() -> House:
    return make_site()[1]


@pytest.fixture
def found_before(house: House) -> Quote:
    """A quote that was worked out three days ago."""
    quote = quote_like(house)
    Quote.objects.update(found=FOUND, found_at=BEFORE)
    return Quote.objects.get(pk=quote.pk)


def meanwhile(monkeypatch: pytest.MonkeyPatch, do: Callable[[], object]) -> None:
    """Have something done while the search of a quote's run goes on."""

    solve: Callable[..., Solved] = vars(quote_runs)["solve"]

    def solving(*args: Any, **more: Any) -> Solved:
        monkeypatch.setattr(quote_runs, "solve", solve)
        do()
        return solve(*args, **more)

    monkeypatch.setattr(quote_runs, "solve", solving)


def standing(run: PlanRun) -> str:
    return PlanRun.all_kinds.get(pk=run.pk).status


def test_all_other_rows_stay_as_they_were_to_the_byte(house: House) -> None:
    """The working and the published plan, and the bytes of all calendars, are among them."""
    company = house.company
    published_from(company, MONDAY)
    assert all(bytes(link.body or b"") for link in FeedLink.objects.filter(company=company))
    quote = quote_like(house)
    before = rows_beside_scenarios(company)
    found = worked_out(quote)
    after = rows_beside_scenarios(company)
    label = Quote._meta.label
    assert {**after, label: ""} == {**before, label: ""}
    assert found.version == quote.version, "nobody has edited it"


def test_whoever_looks_for_runs_finds_none_of_a_quote(house: House) -> None:
    company, plan = house.company, first_plan(house.company)
    run = asked_for(quote_like(house))
    with pytest.raises(PlanRun.DoesNotExist):
        run_of(company, run.public_id)
    assert unfinished_run(company) is None
    assert newest_run(company) == plan.run
    assert list(last_runs(company, 9)) == [plan.run]


def test_only_a_newer_one_of_the_same_quote_stops_a_run(house: House) -> None:
    one, other = quote_like(house), quote_like(house, name="Ash Row 2")
    replan = request_run(company=house.company, plan_from=MONDAY)
    runs = [replan, asked_for(one), asked_for(other)]
    PlanRun.all_kinds.update(status="running", claimed_at=MONDAY)
    assert stop_older_runs(run=asked_for(one), now=MONDAY) == 1
    assert [standing(run) for run in runs] == ["running", "failed", "running"]
    again = request_run(company=house.company, plan_from=MONDAY)
    assert stop_older_runs(run=again, now=MONDAY) == 1
    assert [standing(run) for run in runs] == ["failed", "failed", "running"]


def test_asking_twice_makes_one_run_and_each_quote_has_its_own(
    house: House, started: list[int]
) -> None:
    one, other = quote_like(house), quote_like(house, name="Ash Row 2")
    run = jobs.request_quote_run(quote=one, now=MONDAY)
    assert jobs.request_quote_run(quote=one, now=MONDAY) == run
    theirs = jobs.request_quote_run(quote=other, now=MONDAY)
    replan = jobs.request_replan(company=house.company, now=MONDAY)
    assert len({run.pk, theirs.pk, replan.pk}) == 3
    assert [standing(one) for one in (run, theirs, replan)] == ["queued"] * 3
    PlanRun.all_kinds.filter(pk=run.pk).update(status="running", claimed_at=MONDAY)
    newer = jobs.request_quote_run(quote=one, now=MONDAY)
    assert (standing(run), standing(newer)) == ("failed", "queued")
    assert started == [run.pk, run.pk, theirs.pk, replan.pk, newer.pk]


def test_a_run_that_has_not_begun_is_of_the_moment_it_was_last_asked_for(
    house: House, started: list[int]
) -> None:
    quote, later = quote_like(house), MONDAY + timedelta(days=2)
    run = jobs.request_quote_run(quote=quote, now=MONDAY)
    PlanRun.all_kinds.update(stop_requested=True)
    assert jobs.request_quote_run(quote=quote, now=later) == run
    stored = PlanRun.all_kinds.get()
    assert (stored.plan_from, stored.stop_requested) == (later, False)
    assert started == [run.pk, run.pk]


def test_neither_a_plan_nor_a_scenario_is_waited_for(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Thread:
        def __init__(self) -> None:
            self.runs: list[int] = []

        def start(self, run_id: int) -> None:
            self.runs.append(run_id)

    threads = {name: Thread() for name in ("HERE", "BESIDE", "QUOTES")}
    for name, thread in threads.items():
        monkeypatch.setattr(jobs, name, thread)
    run = jobs.request_quote_run(quote=quote_like(house), now=MONDAY)
    replan = jobs.request_replan(company=house.company, now=MONDAY)
    assert {name: thread.runs for name, thread in threads.items()} == {
        "HERE": [replan.pk],
        "BESIDE": [],
        "QUOTES": [run.pk],
    }


def test_a_quote_that_can_be_no_house_is_not_begun(house: House, started: list[int]) -> None:
    quote = quote_like(None, rooms=ROOMS, level="4")
    House.objects.update(name=quote.name)
    with pytest.raises(InputFaults, match="give the quote another name"):
        jobs.request_quote_run(quote=quote, now=MONDAY)
    assert not PlanRun.all_kinds.exists()
    assert started == []


@pytest.mark.usefixtures("unsearched")
def test_what_was_found_takes_the_place_of_what_was_found_before(found_before: Quote) -> None:
    failed = asked_for(found_before)
    PlanRun.all_kinds.filter(pk=failed.pk).update(status="failed")
    quote = worked_out(found_before)
    assert quote.found_at
    assert quote.found_at > BEFORE
    assert quote.found["handover_on"] != FOUND["handover_on"]
    (run,) = PlanRun.all_kinds.filter(quote=quote)
    assert [step["code"] for step in run.steps] == ["air", "search", "odds"]
    assert (run.status, run.error, run.problem) == ("done", "", {})
    assert run.progress, "a better plan is told of while it goes on"


def test_the_time_left_is_that_of_one_search(house: House) -> None:
    run = asked_for(quote_like(house), seconds=6, work=None)
    assert search_seconds_left(run, MONDAY) == 6
    run.claimed_at = MONDAY
    run.steps = [
        {"code": "air", "at": 0.0, "seconds": 0.0},
        {"code": "search", "at": 2.0, "seconds": 6.0},
    ]
    assert search_seconds_left(run, MONDAY + timedelta(seconds=4)) == 4
    assert search_seconds_left(run, MONDAY + timedelta(seconds=60)) == 0


def test_a_run_that_is_asked_to_stop_ends_with_what_it_has(house: House) -> None:
    run = asked_for(quote_like(house), work=None, seconds=600)
    PlanRun.all_kinds.filter(pk=run.pk).update(stop_requested=True)
    begun = timezone.now()
    run_replan(run_id=run.pk)
    assert timezone.now() - begun < timedelta(seconds=300)
    assert standing(run) == "done"
    assert Quote.objects.get().found["handover_on"]


@pytest.mark.usefixtures("unsearched")
def test_a_quote_won_or_changed_meanwhile_keeps_what_was_found_before(
    found_before: Quote, monkeypatch: pytest.MonkeyPatch
) -> None:
    def won() -> None:
        quote, due = Quote.objects.get(), date(2026, 4, 1)
        win_quote(quote=quote, version=quote.version, handover_on=due, by=None, now=MONDAY)

    def opened_later() -> None:
        quote, later = Quote.objects.get(), {"opens_on": date(2026, 3, 9)}
        change_quote(quote=quote, version=quote.version, values=later)

    for change, found in ((opened_later, {}), (won, FOUND)):
        Quote.objects.update(found=FOUND)
        run = asked_for(found_before)
        meanwhile(monkeypatch, change)
        assert run_replan(run_id=run.pk) is None, "it is no fault of the run"
        run = PlanRun.all_kinds.get(pk=run.pk)
        assert run.status == "failed"
        assert Quote.objects.get().found == found
        assert "changed or won meanwhile" in failure_sentence(run.error)
        assert what_next_sentence(run.error) == "Work it out again."


@pytest.mark.usefixtures("unsearched")
def test_another_margin_meanwhile_is_kept_and_so_is_what_is_found(
    found_before: Quote, monkeypatch: pytest.MonkeyPatch
) -> None:
    def dearer() -> None:
        change_quote(quote=Quote.objects.get(), version=1, values={"margin_percent": 20.0})

    meanwhile(monkeypatch, dearer)
    quote = worked_out(found_before)
    assert (quote.margin_percent, quote.version) == (20.0, 2)
    assert quote.found != FOUND


def test_a_quote_whose_name_was_taken_says_what_to_do(found_before: Quote) -> None:
    run = asked_for(found_before)
    House.objects.update(name=found_before.name)
    assert run_replan(run_id=run.pk) is None, "it is no fault of the run"
    run = PlanRun.all_kinds.get(pk=run.pk)
    assert run.status == "failed"
    assert "another has its name" in failure_sentence(run.error)
    assert what_next_sentence(run.error) == "Change the quote, then work it out again."
    assert Quote.objects.get().found == FOUND


@pytest.mark.usefixtures("unsearched")
def test_a_quote_removed_meanwhile_ends_its_run_without_a_word(
    found_before: Quote, monkeypatch: pytest.MonkeyPatch
) -> None:
    meanwhile(monkeypatch, lambda: remove_quote(quote=found_before, version=1))
    assert run_replan(run_id=asked_for(found_before).pk) is None
    assert not PlanRun.all_kinds.exists()
    assert House.objects.count() == 1


@pytest.mark.usefixtures("unsearched")
def test_another_begins_a_run_anew_whose_worker_has_died(
    found_before: Quote, started: list[int]
) -> None:
    run = asked_for(found_before)
    died = {"status": "running", "claimed_at": MONDAY, "lease_until": MONDAY, "attempts": 1}
    PlanRun.all_kinds.filter(pk=run.pk).update(**died)
    jobs.look_after_runs(now=MONDAY + timedelta(seconds=1))
    assert (standing(run), started) == ("queued", [run.pk])
    run_replan(run_id=run.pk)
    run = PlanRun.all_kinds.get(pk=run.pk)
    assert (run.status, run.attempts) == ("done", 2)
    assert Quote.objects.get().found != FOUND


@pytest.mark.usefixtures("unsearched")
def test_whoever_was_called_gone_does_not_write_over_what_another_found(
    found_before: Quote, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = asked_for(found_before)

    def taken_over() -> None:
        PlanRun.all_kinds.filter(pk=run.pk).update(status="queued")
        run_replan(run_id=run.pk)
        Quote.objects.update(found_at=MONDAY)

    meanwhile(monkeypatch, taken_over)
    assert run_replan(run_id=run.pk) is None
    run.refresh_from_db()
    assert (run.status, run.error, run.attempts) == ("done", "", 2)
    assert Quote.objects.get().found_at == MONDAY
