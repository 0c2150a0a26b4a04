"""Scenarios over the API: made of changes, planned in the background, never among the plans."""

from typing import Any

import pytest

from finishing.models import Crew, House, Price
from finishing.queries.rights import Right
from scheduling.models import Scenario
from scheduling.queries.plans import working_plan
from scheduling.services.scenario_changes import CrewMore
from tests.api.rest.api_clients import pointers, program
from tests.plans import first_plan, plan_cost
from tests.scenarios import planned_for, rows_beside_scenarios, scenario_with
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
AT = "/api/v1/scenarios/"


@pytest.fixture
def site(started: list[int]) -> Any:  # no run is begun
    return make_site()


def test_a_scenario_is_made_of_changes_and_answers_what_was_sent(site: Any) -> None:
    company, house = site
    crew = Crew.objects.get(company=company)
    changes = [
        {"kind": "crew_more", "crew": str(crew.public_id)},
        {"kind": "heated_houses", "houses": [str(house.public_id)], "setpoint_c": 21.5},
        {"kind": "other_weather", "first": "2026-03-02", "last": "2026-04-01",
         "humidity_points": 15},
    ]  # fmt: skip
    api = program(company)
    made = api.post(AT, {"name": "More and warmer", "changes": changes})
    assert made.status_code == 201, made.json()
    assert [change["kind"] for change in made.json()["changes"]] == [
        "crew_more", "heated_houses", "other_weather",
    ]  # fmt: skip
    assert made.json()["changes"][2]["humidity_points"] == 15
    assert (made.json()["run"], made.json()["figures"]) == (None, None)


def test_what_does_not_go_together_is_told_at_its_place(site: Any) -> None:
    company, house = site
    changes = [
        {"kind": "crew_more", "house": str(house.public_id)},
        {"kind": "saturdays", "crews": [], "first": "2026-03-09", "last": "2026-03-02"},
    ]
    answer = program(company).post(AT, {"name": "Bad", "changes": changes})
    assert answer.status_code == 422
    assert set(pointers(answer)) == {
        "#/changes/0/crew", "#/changes/0/house", "#/changes/1/crews", "#/changes/1/last",
    }  # fmt: skip
    assert not Scenario.objects.exists()


def test_what_it_costs_is_told_to_who_may_plan(site: Any) -> None:
    company, _ = site
    scenario = scenario_with(company)
    plan = planned_for(scenario)
    here = f"{AT}{scenario.public_id}/"
    planner, reader = program(company, Right.PLAN), program(company, Right.READ)
    assert planner.get(here).json()["figures"]["cost_minor"] is None
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    figures = planner.get(here).json()["figures"]
    assert figures["cost_minor"] == plan_cost(plan).cost.total > 0
    assert figures["cost_since"] == "2026-03-02T00:00:00Z"
    figures = reader.get(here).json()["figures"]
    assert (figures["cost_minor"], figures["cost_since"]) == (None, None)


def test_it_is_planned_in_the_background_and_stopped(site: Any) -> None:
    company, _ = site
    scenario = scenario_with(company)
    api = program(company)
    mine = f"{AT}{scenario.public_id}/"
    asked = api.post(f"{mine}plan/", None)
    assert (asked.status_code, asked.json()["run"]["state"]) == (202, "queued")
    assert asked["Location"].endswith(mine)
    assert api.post(f"{mine}stop/", None).status_code == 202
    assert api.get(mine).json()["run"]["stop_requested"] is True
    assert api.get("/api/v1/runs/").json()["results"] == []


def test_its_plan_is_compared_and_never_among_the_plans(site: Any) -> None:
    company, _ = site
    first_plan(company)
    scenario = scenario_with(company)
    tried = planned_for(scenario)
    api = program(company)
    figures = api.get(f"{AT}{scenario.public_id}/").json()["figures"]
    assert figures["visits"] == tried.visits
    assert figures["is_outdated"] is False
    plans = api.get("/api/v1/plans/").json()["results"]
    assert str(tried.public_id) not in {plan["id"] for plan in plans}
    one = f"/api/v1/plans/{tried.public_id}/"
    assert api.get(one).status_code == api.post(f"{one}accept/", None).status_code == 404


def test_it_is_worked_on_with_all_it_counts_on_or_refused_with_a_reason(site: Any) -> None:
    company, house = site
    first_plan(company, MONDAY)
    scenario = scenario_with(company)
    api = program(company)
    mine = f"{AT}{scenario.public_id}/work-on/"
    before = rows_beside_scenarios(company)
    refused = api.post(mine, None)
    assert (refused.status_code, refused.json()["reason"]) == (409, "not_planned")
    assert rows_beside_scenarios(company) == before
    assert working_plan(company) is not None
    assert House.objects.get(pk=house.pk).version == house.version


def test_what_is_worked_on_twice_makes_no_second_crew(
    site: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    company, _ = site
    first_plan(company, MONDAY)
    scenario = scenario_with(company, CrewMore(Crew.objects.get().public_id))
    planned_for(scenario)
    monkeypatch.setattr("django.utils.timezone.now", lambda: MONDAY)
    api, mine = program(company), f"{AT}{scenario.public_id}/"
    assert api.post(f"{mine}work-on/", None).status_code == 200
    before = rows_beside_scenarios(company)
    again = api.post(f"{mine}work-on/", None)
    assert (again.status_code, again.json()["reason"]) == (409, "adopted")
    assert api.post(f"{mine}plan/", None).status_code == 409
    seen = api.get(mine)["ETag"]
    assert api.patch(mine, {"changes": []}, seen).status_code == 422
    assert rows_beside_scenarios(company) == before
    assert Crew.objects.count() == 2
