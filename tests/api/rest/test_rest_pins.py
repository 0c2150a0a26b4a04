"""/api/v1/planned-visits/ and pins/: a program moves a visit by hand and lets it go again."""

from typing import Any

import pytest

from finishing.models import Company, Crew
from finishing.queries.rights import Right
from scheduling.models import Pin
from scheduling.queries.planned_visits import blocks_to_come, visit_id
from scheduling.queries.plans import working_plan
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_company, make_crew
from tests.plans import first_plan
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
VISITS, PINS = "/api/v1/planned-visits/", "/api/v1/pins/"


@pytest.fixture
def company() -> Company:
    """A house of two rooms, two crews, and a plan made without a search."""
    company, _ = make_site(rooms=("Hall", "Kitchen"), system="All-purpose drying")
    make_crew(company, "South crew")
    first_plan(company)
    return company


def visit_ids(company: Company) -> list[str]:
    plan = working_plan(company)
    assert plan
    return [str(visit_id(block)) for block in blocks_to_come(plan, MONDAY)]


def asked(asker: Program, visit: str, crew: Crew, at: str) -> Any:
    return asker.get(f"{VISITS}{visit}/move/?crew={crew.public_id}&starts_at={at}").json()


def wanted(asker: Program, visit: str, crew: str, at: str) -> dict[str, str]:
    seen = asker.get(f"{VISITS}{visit}/").json()["seen"]
    return {"planned_visit": visit, "crew": crew, "starts_at": at, "seen": seen}


def test_a_move_that_holds_is_pinned_and_let_go(company: Company) -> None:
    asker, visit = program(company), visit_ids(company)[0]
    crew = Crew.objects.get(company=company, name="South crew")
    answer = asked(asker, visit, crew, "2026-03-03T08:00:00Z")
    assert (answer["holds"], answer["breaks"], answer["stays"]) == (True, None, [])
    assert answer["ends_at"] > "2026-03-03T08:00:00Z"
    assert {one["visit"] for one in answer["gives_way"]} <= set(visit_ids(company))
    assert answer["gives_way"], "coats over it can no longer begin when they were to"
    assert not Pin.objects.exists()
    body = wanted(asker, visit, str(crew.public_id), "2026-03-03T08:00:00Z")
    made = asker.post(PINS, body)
    assert made.status_code == 201
    pins = made.json()["pins"]
    tasks = [task["key"] for task in asker.get(f"{VISITS}{visit}/").json()["visit"]["tasks"]]
    assert [pin["task"] for pin in pins] == tasks
    assert (pins[0]["house"], pins[0]["starts_at"]) == ("Mill Cottage", "2026-03-03T08:00:00Z")
    assert pins[0]["work"].endswith(", Hall")
    again = asker.post(PINS, body)
    assert (again.status_code, again.json()["reason"]) == (409, "changed"), "pins are others now"
    listed = asker.get(PINS).json()["results"]
    assert sorted(pin["id"] for pin in listed) == sorted(pin["id"] for pin in pins)
    address = f"{PINS}{pins[0]['id']}/"
    assert asker.delete(address).status_code == 428
    assert asker.delete(address, pins[0]["etag"]).status_code == 204
    assert asker.get(PINS).json()["results"] == [], "those made with it have ended too"
    assert asker.get(address).status_code == 404


def test_a_move_that_breaks_a_rule_says_which_and_what_would_do(company: Company) -> None:
    asker, (first, *_, last) = program(company), visit_ids(company)
    crew = Crew.objects.get(company=company, name="North crew")
    sunday = "2026-03-08T08:00:00Z"
    answer = asked(asker, first, crew, sunday)
    assert (answer["holds"], answer["breaks"]["code"]) == (False, "outside_window")
    nearest = answer["nearest"]
    body = wanted(asker, first, str(crew.public_id), sunday)
    refused = asker.post(PINS, body)
    assert refused.json()["type"] == "/api/v1/problems/breaks-rule/"
    assert (refused.status_code, refused.json()["reason"]) == (409, "outside_window")
    assert refused.json()["detail"] == answer["text"]
    assert not Pin.objects.exists()
    would_do = asker.post(
        PINS, {**body, "crew": nearest["crew"], "starts_at": nearest["starts_at"]}
    )
    assert would_do.status_code == 201
    too_soon = asked(asker, last, crew, "2026-03-02T08:00:00Z")
    assert too_soon["breaks"]["code"] in {"wait", "run_order", "release"}


def test_a_visit_of_an_older_plan_leads_to_the_one_with_its_work(company: Company) -> None:
    asker, old = program(company), visit_ids(company)[0]
    first_plan(company)
    said = asker.get(f"{VISITS}{old}/").json()
    assert (said["is_current"], said["now"]) == (False, visit_ids(company)[0])
    crew = Crew.objects.filter(company=company)[0]
    refused = asked(asker, old, crew, "2026-03-03T08:00:00Z")
    assert (refused["status"], refused["reason"]) == (409, "replanned")
    pinned = asker.post(PINS, wanted(asker, old, str(crew.public_id), "2026-03-03T08:00:00Z"))
    assert (pinned.status_code, pinned.json()["reason"]) == (409, "changed")


def test_all_faults_of_a_spot_are_named_at_once(company: Company) -> None:
    asker, visit = program(company), visit_ids(company)[0]
    resting = make_crew(company, "Resting crew", is_active=False)
    theirs = make_crew(make_company("Another firm"))
    for crew, at in ((resting, "2026-03-03T08:02:00Z"), (theirs, "2026-03-03T08:00")):
        answer = asked(asker, visit, crew, at)
        assert answer["status"] == 422
        assert sorted(one["parameter"] for one in answer["errors"]) == ["crew", "starts_at"]
        body = {"planned_visit": visit, "crew": str(crew.public_id), "starts_at": at, "at": 1}
        refused = asker.post(PINS, body)
        assert refused.status_code == 422
        assert pointers(refused) == ["#/at", "#/crew", "#/seen", "#/starts_at"]
    assert asker.get(f"{VISITS}{visit}/move/").status_code == 422
    reader = program(company, Right.READ)
    assert reader.get(f"{VISITS}{visit}/").status_code == 200
    assert reader.post(PINS, {}).status_code == 403
