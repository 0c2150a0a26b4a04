"""Two people do something to the same company at once: nothing is overwritten without a word, and
the second one is told."""

from threading import Barrier
from uuid import uuid4

import pytest

from finishing.models import Crew
from scheduling import jobs
from scheduling.models import Plan, PlanRun, Publication, Report, Scenario, SentReport, Visit
from scheduling.queries.plans import proposals_of, working_plan
from scheduling.services.adopt_scenario import AdoptError, adopt_scenario
from scheduling.services.outputs import make_working
from scheduling.services.proposals import ProposalError, accept_proposal
from scheduling.services.publish import OvertakenError, publish_plan
from scheduling.services.replan import request_run, run_replan
from scheduling.services.scenario_changes import CrewMore
from scheduling.services.sent_reports import Sent
from scheduling.services.take_back import TakeBackError, take_back
from scheduling.services.visit_reports import say_started
from tests.plans import first_plan
from tests.production.at_once import Held, People, await_a_queue
from tests.production.stack import Stack
from tests.production.told import SUNDAY, told, told_and_planned_anew, told_company
from tests.scenarios import planned_for, scenario_with
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.services


def test_of_two_who_publish_the_second_finds_it_done(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    company = told_and_planned_anew()
    plan, held = working_plan(company), Held(monkeypatch, "publish.store_revision")

    def publish() -> tuple[bool, int]:
        result = publish_plan(company=company, now=SUNDAY, looked_at=plan)
        return result.is_new, result.publication.revision

    with People() as people:
        first = people.begin(publish)
        held.await_somebody()
        second = people.begin(publish)
        await_a_queue()
        held.let_go()
    assert (first.result(), second.result()) == ((True, 2), (False, 2))
    assert Publication.objects.filter(company=company).count() == 2


def test_who_publishes_what_is_no_longer_the_plan_is_told(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    company = told_company()
    looked_at, other = first_plan(company), first_plan(company)
    make_working(looked_at)
    held = Held(monkeypatch, "publish.store_revision")
    with People() as people:
        first = people.begin(lambda: publish_plan(company=company, now=MONDAY, looked_at=looked_at))
        held.await_somebody()
        second = people.begin(lambda: make_working(other))
        await_a_queue()
        held.let_go()
    assert (first.result().publication.plan, second.result()) == (looked_at, None)
    before = told(company)
    with pytest.raises(OvertakenError):
        publish_plan(company=company, now=MONDAY, looked_at=looked_at)
    assert told(company) == before


def test_who_takes_back_what_is_no_longer_the_last_is_told(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    company = told_and_planned_anew()
    held = Held(monkeypatch, "publish.store_revision")
    with People() as people:
        first = people.begin(lambda: publish_plan(company=company, now=SUNDAY))
        held.await_somebody()
        second = people.begin(lambda: take_back(company=company, revision=1, now=SUNDAY))
        await_a_queue()
        held.let_go()
    assert first.result().is_new
    error = second.exception()
    assert isinstance(error, TakeBackError)
    assert (error.code, error.values) == ("not_the_last", {"revision": 2})


def test_two_clicks_at_once_make_one_run(stack: Stack) -> None:
    company, _ = make_site()
    both = Barrier(2)

    def click() -> int:
        both.wait(60)
        return jobs.request_replan(company=company, now=MONDAY).pk

    with People() as people:
        asked = [people.begin(click) for _ in range(2)]
    assert {one.result() for one in asked} == {PlanRun.objects.get().pk}


def test_two_workers_who_have_the_same_message_do_it_once(stack: Stack) -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, work=1)
    both = Barrier(2)

    def work() -> Plan | None:
        both.wait(60)
        return run_replan(run_id=run.pk)

    with People() as people:
        done = [people.begin(work) for _ in range(2)]
    plans = [one.result() for one in done]
    assert plans.count(None) == 1
    assert [plan for plan in plans if plan] == [run.plans.get()]


def test_a_first_plan_does_not_take_the_place_of_one_that_crews_were_told_meanwhile(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    company, _ = make_site()
    plan = first_plan(company)
    run = request_run(company=company, plan_from=MONDAY, work=1)
    held = Held(monkeypatch, "replan.with_dryers")
    with People() as people:
        replanned = people.begin(lambda: run_replan(run_id=run.pk))
        held.await_somebody()
        publish_plan(company=company, now=MONDAY)
        before = told(company)
        held.let_go()
    assert "OvertakenError" in type(replanned.exception()).__name__
    run.refresh_from_db()
    assert (run.status, run.plans.count()) == ("failed", 0)
    assert "published while this one was made" in run.error
    assert working_plan(company) == plan
    assert told(company) == before


def test_proposals_made_while_something_is_published_are_not_accepted(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    company = told_company()
    first_plan(company)
    run = request_run(company=company, plan_from=MONDAY, work=1)
    held = Held(monkeypatch, "replan.store_proposals")
    with People() as people:
        replanned = people.begin(lambda: run_replan(run_id=run.pk))
        held.await_somebody()
        publish_plan(company=company, now=MONDAY)
        before = told(company)
        held.let_go()
    proposal = replanned.result()
    assert proposal is not None
    with pytest.raises(ProposalError) as refused:
        accept_proposal(company=company, plan=proposal, now=MONDAY)
    assert refused.value.code == "republished"
    assert told(company) == before


def test_of_two_replans_the_later_stops_the_earlier(stack: Stack) -> None:
    company = told_company()
    both = Barrier(2)
    runs = [request_run(company=company, plan_from=MONDAY, work=1) for _ in range(2)]

    def work(run: PlanRun) -> Plan | None:
        both.wait(60)
        return run_replan(run_id=run.pk)

    with People() as people:
        done = [people.begin(lambda run=run: work(run)) for run in runs]  # type: ignore[misc]
    earlier, later = (one.result() for one in done)
    assert earlier is None
    assert later in proposals_of(company)
    stopped = PlanRun.objects.get(pk=runs[0].pk)
    assert (stopped.status, stopped.overtaken_by) == (PlanRun.Status.FAILED, runs[1])
    assert not Plan.objects.filter(run=stopped).exists()
    accept_proposal(company=company, plan=later, now=MONDAY)


@pytest.mark.parametrize("name", ["publish.store_revision", "replan.store_proposals"])
def test_what_a_crew_says_meanwhile_is_kept_and_not_waited_for(
    name: str, stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    company = told_company()
    first_plan(company)
    run = request_run(company=company, plan_from=MONDAY, work=1)
    visit = Visit.objects.select_related("crew__company", "house").earliest("starts_at")
    said = Sent(uuid4(), visit.crew, visit, visit.starts_at, visit.starts_at)
    office = {
        "publish.store_revision": lambda: publish_plan(company=company, now=MONDAY),
        "replan.store_proposals": lambda: run_replan(run_id=run.pk),
    }
    held = Held(monkeypatch, name)
    with People() as people:
        busy = people.begin(office[name])
        held.await_somebody()
        taps = [people.begin(lambda: say_started(said)) for _ in range(2)]  # sent twice
        assert len({tap.result(60).pk for tap in taps}) == 1
        assert not busy.done()
        reports = list(Report.objects.values())
        held.let_go()
    assert busy.exception() is None
    assert SentReport.objects.filter(company=company).count() == 1
    assert [report["kind"] for report in reports] == [Report.Kind.STARTED]
    assert list(Report.objects.values()) == reports


def a_crew_more() -> Scenario:
    """A scenario that is planned, beside a company with one crew."""
    company, _ = make_site()
    first_plan(company)
    scenario = scenario_with(company, CrewMore(Crew.objects.get().public_id))
    planned_for(scenario)
    return scenario


def adopt(scenario: Scenario) -> Plan:
    mine = Scenario.objects.get(pk=scenario.pk)
    return adopt_scenario(scenario=mine, version=mine.version, by=None, now=MONDAY)


def test_of_two_who_work_on_a_scenario_one_makes_its_crew(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    scenario, held = a_crew_more(), Held(monkeypatch, "adopt_scenario.make_working")
    with People() as people:
        first = people.begin(lambda: adopt(scenario))
        held.await_somebody()
        second = people.begin(lambda: adopt(scenario))
        await_a_queue()
        held.let_go()
    assert working_plan(scenario.company) == first.result()
    error = second.exception()
    assert isinstance(error, AdoptError)
    assert error.code == "adopted"
    assert Crew.objects.filter(company=scenario.company).count() == 2


@pytest.mark.parametrize("name", ["adopt_scenario.make_working", "scenario_plans.store_plan"])
def test_of_a_scenario_that_is_planned_again_and_worked_on_at_once_nothing_is_left_to_work_on(
    name: str, stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    scenario = a_crew_more()
    run = request_run(company=scenario.company, plan_from=MONDAY, work=1, scenario=scenario)
    worked_on_first = name.startswith("adopt")
    held = Held(monkeypatch, name)

    def plan() -> Plan | None:
        return run_replan(run_id=run.pk)

    with People() as people:
        if worked_on_first:
            planned_beside = Held(monkeypatch, "replan.scenario_odds")
            planned = people.begin(plan)
            planned_beside.await_somebody()
            worked_on = people.begin(lambda: adopt(scenario))
            held.await_somebody()
            planned_beside.let_go()
        else:
            planned = people.begin(plan)
            held.await_somebody()
            worked_on = people.begin(lambda: adopt(scenario))
        await_a_queue()
        held.let_go()
    assert working_plan(scenario.company) == worked_on.result()
    assert (planned.result() is None) == worked_on_first
    with pytest.raises(AdoptError, match="adopted"):
        adopt(scenario)
    assert Crew.objects.filter(company=scenario.company).count() == 2


def test_who_works_on_a_scenario_while_something_is_published_waits_for_it(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever publishes holds the plans and then stores a row of the company; the other holds the
    company and then the plans."""
    scenario, held = a_crew_more(), Held(monkeypatch, "publish.store_revision")
    with People() as people:
        first = people.begin(lambda: publish_plan(company=scenario.company, now=MONDAY))
        held.await_somebody()
        second = people.begin(lambda: adopt(scenario))
        await_a_queue()
        held.let_go()
    assert first.result().is_new
    assert second.result() == working_plan(scenario.company)
