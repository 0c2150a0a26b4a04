"""/api/v1/plans/: what is planned, what proposals would change, and accepting one."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from finishing.models import Company, Crew, DayOff
from finishing.queries.rights import Right
from scheduling.models import CompanyPlans, Plan
from scheduling.queries.visits import plan_blocks
from scheduling.services.publish import publish_plan
from tests.api.rest.api_clients import program
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.plans import first_plan, moved, places, quick_proposal
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
PLANS = "/api/v1/plans/"
SOON = MONDAY + timedelta(minutes=20)


@pytest.fixture
def proposed(monkeypatch: pytest.MonkeyPatch) -> tuple[Company, Plan]:
    """A published site whose crew has Tuesday off since, and a proposal that follows."""
    company, _ = make_site(rooms=("A", "B"), system="All-purpose drying")
    first_plan(company)
    publish_plan(company=company, now=MONDAY)
    crew = Crew.objects.get(company=company)
    DayOff.objects.create(company=company, crew=crew, day=date(2026, 3, 3))
    monkeypatch.setattr(timezone, "now", lambda: SOON)
    return company, quick_proposal(company, SOON)


def address_of(plan: Plan) -> str:
    return f"{PLANS}{plan.public_id}/"


def test_a_proposal_says_what_it_changes_and_where_each_visit_goes(
    proposed: tuple[Company, Plan],
) -> None:
    company, plan = proposed
    asker = program(company)
    assert plan.run is not None
    listed = asker.get(f"{PLANS}?run={plan.run.public_id}").json()["results"]
    said = asker.get(address_of(plan)).json()
    assert listed == [said]
    assert (said["kind"], said["standing"]) == ("fewest_changes", "open")
    change = said["change"]
    assert change["figures"]["visits_moved"] == plan.change["figures"]["visits_moved"] > 0
    assert change["next_days"]["visits_moved"] <= change["figures"]["visits_moved"]
    assert plan.base
    assert plan.base.plan
    before, after = places(plan.base.plan), places(plan)
    starts = {f"{at:%Y-%m-%dT%H:%M:%SZ}" for _crew, at, _end in before.values()}
    goes = {f"{at:%Y-%m-%dT%H:%M:%SZ}" for _crew, at, _end in after.values()}
    assert change["moved_visits"]
    for visit in change["moved_visits"]:
        assert visit["before"]["starts_at"] in starts
        assert {span["starts_at"] for span in visit["after"]} <= goes
    assert sum(len(visit["stages"]) for visit in change["moved_visits"]) == len(
        moved(plan.base.plan, plan)
    )
    (promise,) = change["handovers"]
    assert promise["met_after"] == said["handovers"][0]["met_at"] > promise["met_before"]


def test_a_proposal_is_accepted_and_no_more_once_it_is_overtaken(
    proposed: tuple[Company, Plan],
) -> None:
    company, plan = proposed
    asker = program(company)
    base = CompanyPlans.objects.get(company=company).working
    assert base is not None
    assert program(company, Right.READ).post(f"{address_of(plan)}accept/", None).status_code == 403
    answer = asker.post(f"{address_of(plan)}accept/", None)
    assert (answer.status_code, answer.json()["standing"]) == (200, "working")
    current = asker.get(f"{PLANS}current/").json()
    assert (current["working"]["id"], current["published"]["id"]) == (
        str(plan.public_id),
        str(base.public_id),
    )
    no_proposal = asker.post(f"{address_of(base)}accept/", None)
    assert (no_proposal.status_code, no_proposal.json()["reason"]) == (409, "not_a_proposal")
    publish_plan(company=company, now=SOON)
    refused = asker.post(f"{address_of(plan)}accept/", None)
    assert (refused.status_code, refused.json()["reason"]) == (409, "republished")
    assert refused.json()["detail"] == "revision 2 has been published since: replan first"
    assert asker.get(address_of(plan)).json()["standing"] == "published"


def test_a_plans_tasks_say_when_and_why_not_earlier(proposed: tuple[Company, Plan]) -> None:
    company, plan = proposed
    asker, address = program(company), f"{address_of(plan)}tasks/?limit=3"
    found = []
    while address:
        page = asker.get(address).json()
        found += page["results"]
        address = page["next"]
    assert {row["key"] for row in found} == set(places(plan))
    waits = [row["why"] for row in found if row["why"]["code"] == "wait"]
    assert any(why["text"].startswith("Waits for: ") and why["until"] for why in waits)
    second = found[1]["starts_at"]
    some = asker.get(f"{address_of(plan)}tasks/?starts_from={second}&stage=tape").json()["results"]
    assert some == [row for row in found if row["starts_at"] >= second and row["stage"] == "tape"]


def test_a_plans_visits_are_those_of_its_pages_by_crew_house_and_days() -> None:
    company = make_company()
    north, south = make_crew(company), make_crew(company, "South crew")
    mill, weir = make_house(company), make_house(company, "Weir House")
    plan = make_plan(
        company,
        [
            task(north, mill, "2026-03-02 08:00"),
            task(north, mill, "2026-03-02 10:10", stage="second"),
            task(north, weir, "2026-03-03 08:00"),
            task(south, weir, "2026-03-20 08:00", stage="second"),
        ],
    )
    asker, address = program(company), f"{address_of(plan)}visits/"
    visits = asker.get(address).json()["visits"]
    assert [(v["starts_at"], v["ends_at"], len(v["tasks"])) for v in visits] == [
        ("2026-03-02T08:00:00Z", "2026-03-02T12:10:00Z", 2),
        ("2026-03-03T08:00:00Z", "2026-03-03T10:00:00Z", 1),
    ]
    assert len(plan_blocks(plan)) == 3, "the last is more than two weeks away"
    for query, count in (
        ("overlaps_to=2026-03-21T00:00:00Z", 3),
        (f"crew={north.public_id}&house={weir.public_id}", 1),
        ("overlaps_from=2026-03-02T12:10:00Z", 1),
        ("overlaps_from=2026-03-02T12:00:00%2B00:00", 2),
    ):
        assert len(asker.get(f"{address}?{query}").json()["visits"]) == count, query


@pytest.mark.parametrize(
    ("query", "at_fault"),
    [
        ("overlaps_from=2026-03-03T00:00:00Z&overlaps_to=2026-03-02T00:00:00Z", ["overlaps_to"]),
        ("overlaps_to=2026-12-02T00:00:00Z", ["overlaps_to"]),
        ("overlaps_from=2026-03-03&crew=x&limit=2", ["crew", "limit", "overlaps_from"]),
        ("overlaps_from=2026-03-03T00:00:00", ["overlaps_from"]),
    ],
)
def test_a_query_of_visits_that_is_no_good_is_refused_with_all_its_faults(
    query: str, at_fault: list[str]
) -> None:
    company = make_company()
    answer = program(company).get(f"{address_of(make_plan(company))}visits/?{query}")
    assert answer.status_code == 422
    assert sorted(error["parameter"] for error in answer.json()["errors"]) == at_fault


def test_work_on_hold_and_late_promises_are_told_with_why() -> None:
    company = make_company()
    house = make_house(company)
    promise = {
        "house": house.name,
        "house_id": str(house.public_id),
        "areas": [],
        "due_on": "2026-03-27",
        "state": "planned",
        "met_at": "2026-03-30T12:00:00+00:00",
        "late_minutes": 4320,
    }
    hold = {
        "code": "not_ready",
        "house": house.name,
        "house_id": str(house.public_id),
        "area": "Ground floor",
        "stages": ["tape"],
        "items": [{"item": "heat", "owed_by": "The builder"}],
        "job": "",
        "tasks": 3,
        "heat_on_by": None,
    }
    plan = make_plan(company, handovers=[promise], holds=[hold])
    said = program(company).get(address_of(plan)).json()
    assert said["handovers"][0]["met_at"] == "2026-03-30T12:00:00Z"
    assert said["handovers"][0]["late_minutes"] == 4320
    (held,) = said["holds"]
    assert (held["house"], held["tasks"]) == (str(house.public_id), 3)
    assert held["text"] == (
        "Mill Cottage, Ground floor · Tape coat: the house is not ready, heat (owed by The builder)"
    )
    assert (said["change"], said["kind"], said["base"]) == (None, "", None)
