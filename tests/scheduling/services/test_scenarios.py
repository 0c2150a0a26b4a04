"""Scenarios: planned beside all that is worked on and published, and never told to anybody."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from finishing.models import Crew
from finishing.services.errors import InputFaults
from scheduling.models import CompanyPlans, FeedLink, Plan, PlanRun, Publication, Scenario
from scheduling.queries.plans import plan_of, plans_of_run, proposals_of, working_plan
from scheduling.queries.runs import last_runs, newest_run, unfinished_run
from scheduling.services.engine import EngineError
from scheduling.services.outputs import make_working
from scheduling.services.overtaking import stop_older_runs
from scheduling.services.proposals import ProposalError, accept_proposal
from scheduling.services.publish import publish_plan
from scheduling.services.replan import request_run, run_replan
from scheduling.services.scenario_changes import (
    CrewLess,
    CrewMore,
    OtherWeather,
    Saturdays,
    ScenarioChange,
)
from scheduling.services.scenarios import (
    copy_scenario,
    discard_scenario,
    edit_scenario,
)
from tests.plans import published_from
from tests.scenarios import planned_for, rows_beside_scenarios, scenario_with
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db


def test_a_scenario_run_leaves_every_row_as_it_was_to_the_byte() -> None:
    """The working and the published plan, and the bytes of all calendars, are among them."""
    company, _ = make_site()
    published_from(company, MONDAY)
    assert all(bytes(link.body or b"") for link in FeedLink.objects.filter(company=company))
    before = rows_beside_scenarios(company)
    crew = Crew.objects.get(company=company)
    plan = planned_for(scenario_with(company, CrewMore(crew.public_id)))
    assert rows_beside_scenarios(company) == before
    assert plan.tasks.exists()
    assert working_plan(company) != plan


def test_publishing_tells_of_the_working_plan_whatever_is_tried() -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    crew = Crew.objects.get(company=company)
    tried = planned_for(scenario_with(company, CrewMore(crew.public_id)))
    result = publish_plan(company=company, now=MONDAY)
    assert not result.is_new
    assert result.publication.plan != tried


def test_the_plan_of_a_scenario_can_be_neither_worked_on_nor_published() -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    tried = planned_for(scenario_with(company))
    with pytest.raises(ValidationError, match="scenario"):
        make_working(tried)
    with pytest.raises(ValidationError, match="scenario"):
        CompanyPlans(company=company, published=tried).save()
    with pytest.raises(ValidationError, match="scenario"):
        Publication(company=company, revision=9, plan=tried, published_at=MONDAY).save()
    with pytest.raises(ProposalError, match="not_a_proposal"):
        accept_proposal(company=company, plan=tried, now=MONDAY)
    standing = CompanyPlans.objects.get(company=company)
    assert tried not in (standing.working, standing.published)


def test_whoever_looks_for_plans_and_runs_finds_none_of_a_scenario() -> None:
    company, _ = make_site()
    published = published_from(company, MONDAY)
    tried = planned_for(scenario_with(company))
    assert tried.run is not None
    with pytest.raises(Plan.DoesNotExist):
        plan_of(company, tried.public_id)
    assert plans_of_run(tried.run) == proposals_of(company) == []
    assert newest_run(company) == published.run
    assert list(last_runs(company, 9)) == [published.run]


def test_runs_of_scenarios_and_of_the_working_plan_go_on_side_by_side() -> None:
    company, _ = make_site()
    one, other = (scenario_with(company, name=name) for name in ("One", "Other"))
    runs = [
        request_run(company=company, plan_from=MONDAY, scenario=scenario)
        for scenario in (None, one, other)
    ]
    PlanRun.all_kinds.update(status=PlanRun.Status.RUNNING)
    again = request_run(company=company, plan_from=MONDAY, scenario=one)
    assert stop_older_runs(run=again, now=MONDAY) == 1
    assert [PlanRun.all_kinds.get(pk=run.pk).status for run in runs] == [
        "running", "failed", "running",
    ]  # fmt: skip
    assert unfinished_run(company) == runs[0]


def test_a_scenario_is_never_worse_for_a_search_out_of_luck(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With nothing changed, the working plan itself is there to be found."""
    company, _ = make_site(rooms=("Hall", "Kitchen", "Landing"))
    before = published_from(company, MONDAY)
    plan = planned_for(scenario_with(company), work=1)
    ends = [max(row.ends_at for row in one.tasks.all()) for one in (before, plan)]
    assert plan.lateness_minutes <= before.lateness_minutes
    assert (plan.lateness_minutes, ends[1]) <= (before.lateness_minutes, ends[0])


def test_planning_again_takes_the_place_of_what_was_planned_before() -> None:
    company, _ = make_site()
    scenario = scenario_with(company)
    first, second = planned_for(scenario), planned_for(scenario)
    assert list(Plan.with_scenarios.filter(scenario=scenario)) == [second]
    assert list(PlanRun.all_kinds.filter(scenario=scenario)) == [second.run]
    assert first.pk != second.pk


def test_the_odds_of_both_plans_are_there_to_compare() -> None:
    company, house = make_site()
    published_from(company, MONDAY)
    scenario = scenario_with(company)
    planned_for(scenario)
    own, base = scenario.odds["own"], scenario.odds["base"]
    assert [row["house"] for row in own["handovers"]] == [house.name]
    assert 0 <= own["missed"] <= 1
    assert own.keys() == base.keys()


def test_a_scenario_discarded_while_it_is_planned_ends_its_run_without_a_word(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    company, _ = make_site()
    scenario = scenario_with(company)
    run = request_run(company=company, plan_from=MONDAY, scenario=scenario)

    def discarded(*_args: object, **_more: object) -> None:
        discard_scenario(scenario=scenario, version=scenario.version)
        raise EngineError("its rows are gone")

    monkeypatch.setattr("scheduling.services.replan.settle", discarded)
    assert run_replan(run_id=run.pk) is None
    assert not Plan.with_scenarios.filter(company=company).exists()


def test_a_copy_has_the_same_changes_and_another_name() -> None:
    company, _ = make_site()
    crew = Crew.objects.get(company=company)
    scenario = scenario_with(company, CrewLess(crew.public_id))
    copies = [copy_scenario(scenario=scenario, now=MONDAY) for _ in range(2)]
    assert [copy.changes for copy in copies] == [scenario.changes] * 2
    assert [copy.name for copy in copies] == ["What if (2)", "What if (3)"]


def test_everything_wrong_with_changes_is_told_at_once() -> None:
    company, _ = make_site()
    other, _ = make_site(name="Another")
    theirs = Crew.objects.get(company=other).public_id
    scenario = scenario_with(company)
    bad: list[ScenarioChange] = [
        CrewMore(theirs),
        Saturdays((), MONDAY.date(), MONDAY.date().replace(year=2025)),
        OtherWeather(MONDAY.date(), MONDAY.date(), damper=2.0),
        CrewLess(uuid4()),
    ]
    with pytest.raises(InputFaults) as told:
        edit_scenario(scenario=scenario, version=1, name=" ", changes=bad)
    assert [fault.place for fault in told.value.faults] == [
        "name", "change 1, crew", "change 2, crews", "change 2, last", "change 3, damper",
        "change 4, crew",
    ]  # fmt: skip
    assert Scenario.objects.get(pk=scenario.pk).name == "What if"
