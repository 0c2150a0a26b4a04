"""Costs and quotes over the API: for who may plan, and the same as on pages."""

from datetime import date
from typing import Any

import pytest

from finishing.models import Company, House, Price, Quote
from finishing.queries.rights import Right
from scheduling.models import PlanRun
from scheduling.queries.plans import working_plan
from scheduling.services.replan import run_replan
from tests.api.rest.api_clients import pointers, program
from tests.plans import first_plan, plan_cost
from tests.quotes import FOUND, FOUND_WITHOUT_A_PLACE, ROOMS
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
AT = "/api/v1/quotes/"


@pytest.fixture
def site() -> tuple[Company, House]:
    return make_site()


def test_what_a_plan_and_a_house_cost_adds_up(site: Any) -> None:
    company, house = site
    Price.objects.create(company=company, kind="hour", amount=4321, since=MONDAY.date())
    api, reader = program(company, Right.PLAN), program(company, Right.READ)
    at_house = f"/api/v1/houses/{house.public_id}/costs/"
    nothing = api.get(at_house).json()
    assert (nothing["plan"], nothing["cost"]["total_minor"], nothing["visits"]) == (None, 0, [])
    plan = first_plan(company)
    at_plan = f"/api/v1/plans/{plan.public_id}/costs/"
    of_plan, of_house = api.get(at_plan).json(), api.get(at_house).json()
    assert of_plan["cost"]["total_minor"] == plan_cost(plan).cost.total > 0
    assert [one["cost"] for one in of_plan["houses"]] == [of_plan["cost"]] == [of_house["cost"]]
    visits = [one["cost"]["total_minor"] for one in of_house["visits"]]
    assert sum(visits) + of_house["beside"]["total_minor"] == of_house["cost"]["total_minor"]
    assert {"paper_tape", "sandpaper"} <= {*of_plan["cost"]["unpriced"]}
    assert of_house["plan"] == str(plan.public_id)
    assert {reader.get(at).status_code for at in (at_plan, at_house, AT)} == {403}


def test_a_quote_is_made_changed_and_removed(site: Any) -> None:
    company, house = site
    api = program(company, Right.PLAN)
    sent = {"name": "Ash Row 1", "opens_on": "2026-03-02", "rooms": ROOMS, "level": "4"}
    made = api.post(AT, sent)
    assert made.status_code == 201, made.json()
    row = made.json()
    assert (row["rooms"], row["margin_percent"], row["found"]) == (ROOMS, 0.0, None)
    mine = f"{AT}{row['id']}/"
    Quote.objects.update(found=FOUND, found_at=MONDAY, version=2)
    found = api.get(mine)
    assert found.json()["found"]["price_minor"] == 405000 + 91250
    assert found.json()["found"]["cost"]["unpriced"] == ["travel_hour"]
    dearer = api.patch(mine, {"margin_percent": 20}, found["ETag"])
    assert dearer.json()["found"]["price_minor"] == 595500
    both = api.patch(mine, {"like": str(house.public_id)}, dearer["ETag"])
    assert pointers(both) == ["#/rooms"]
    like = {"like": str(house.public_id), "rooms": []}
    other = api.patch(mine, like, dearer["ETag"])
    assert (other.status_code, other.json()["found"]) == (200, None)
    assert api.delete(mine, found["ETag"]).status_code == 412
    assert api.delete(mine, other["ETag"]).status_code == 204
    assert not Quote.objects.exists()


def test_a_quote_says_how_its_house_will_be_heated(site: Any) -> None:
    api = program(site[0], Right.PLAN)
    sent = {"name": "Ash Row 1", "opens_on": "2026-03-02", "rooms": ROOMS, "level": "4"}
    assert pointers(api.post(AT, {**sent, "heated_from": "2026-03-09"})) == ["#/setpoint_c"]
    assert pointers(api.post(AT, {**sent, "setpoint_c": 41})) == ["#/setpoint_c"]
    cold = api.post(AT, sent)
    assert (cold.json()["setpoint_c"], cold.json()["heated_from"]) == (None, None)
    heating = {"setpoint_c": 18.0, "heated_from": "2026-03-09"}
    mine = f"{AT}{cold.json()['id']}/"
    warm = api.patch(mine, heating, cold["ETag"])
    assert warm.json().items() >= heating.items()
    assert pointers(api.patch(mine, {"setpoint_c": None}, warm["ETag"])) == ["#/setpoint_c"]


def test_what_finds_no_place_is_told_as_taken_off_and_why(site: Any) -> None:
    company, house = site
    fields = {"name": "Ash", "like": house, "opens_on": date(2026, 3, 2)}
    Quote.objects.create(company=company, **fields, found=FOUND_WITHOUT_A_PLACE, found_at=MONDAY)
    (row,) = program(company, Right.PLAN).get(AT).json()["results"]
    found = row["found"]
    assert (found["from_takeoff"], found["price_minor"]) == (True, 405000 + 91250)
    assert (found["handover_on"], found["in_time"], found["holds_on"]) == (None, None, None)
    assert [(hold["code"], "too cold" in hold["text"]) for hold in found["holds"]] == [
        ("too_cold", True)
    ]


@pytest.mark.usefixtures("unsearched")
def test_a_quote_is_worked_out_and_won_once(site: Any, started: list[int]) -> None:
    company, house = site
    first_plan(company)
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    fields = {"name": "Ash", "like": house, "opens_on": date(2026, 3, 2)}
    quote = Quote.objects.create(company=company, **fields)
    api, mine = program(company, Right.PLAN), f"{AT}{quote.public_id}/"
    asked = api.post(f"{mine}work-out/", None)
    assert asked.status_code == 202, asked.json()
    assert asked["Location"].endswith(mine)
    assert (asked.json()["run"]["state"], asked.json()["found"]) == ("queued", None)
    run_replan(run_id=PlanRun.all_kinds.get(quote=quote).pk)
    found = api.get(asked["Location"]).json()
    assert (found["run"]["state"], found["run"]["failure"]) == ("done", None)
    assert found["found"]["price_minor"] > 0
    assert House.objects.count() == 1
    assert pointers(api.post(f"{mine}win/", {})) == ["#/handover_on"]
    won = api.post(f"{mine}win/", {"handover_on": "2026-04-10"})
    assert won.json()["won"] == str(House.objects.get(name="Ash").public_id)
    again = api.post(f"{mine}win/", {"handover_on": "2026-04-10"})
    assert again.status_code == 409
    assert api.post(f"{mine}work-out/", None).status_code == 409
    assert House.objects.count() == 2
    assert working_plan(company) is not None


def test_working_a_quote_out_is_stopped_and_says_why_it_failed(
    site: Any, started: list[int]
) -> None:
    company, house = site
    fields = {"name": "Ash", "like": house, "opens_on": date(2026, 3, 2)}
    quote = Quote.objects.create(company=company, **fields, found=FOUND, found_at=MONDAY)
    api, mine = program(company, Right.PLAN), f"{AT}{quote.public_id}/"
    assert api.get(mine).json()["run"] is None
    assert api.post(f"{mine}stop/", None).json()["reason"] == "over"
    seen = api.post(f"{mine}work-out/", None)
    stopped = api.post(f"{mine}stop/", None)
    assert (stopped.status_code, stopped.json()["run"]["stop_requested"]) == (202, True)
    dearer = api.patch(mine, {"margin_percent": 20}, seen["ETag"])
    assert dearer.status_code == 200, "how far its run is keeps nobody from a change"
    PlanRun.all_kinds.update(
        status="failed", finished_at=MONDAY, error="NoHouseError: its name is taken"
    )
    row = api.get(mine).json()
    assert (row["run"]["state"], row["run"]["search_left_s"]) == ("failed", None)
    assert "another has its name" in row["run"]["failure"]
    assert row["found"]["price_minor"] == 595500, "what was found before stays"
    assert api.get("/api/v1/runs/").json()["results"] == []
