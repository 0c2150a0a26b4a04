"""/api/v1/publications/ and visits/: crews are told a plan, and what differs is told apart."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from finishing.models import Company, Crew
from finishing.queries.rights import Right
from scheduling.models import FeedLink, HouseRevision, Publication, Visit
from scheduling.services.links import make_link
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
PUBLICATIONS, VISITS = "/api/v1/publications/", "/api/v1/visits/"


@pytest.fixture
def told() -> tuple[Company, Crew, Any]:
    company = make_company()
    return company, make_crew(company), make_house(company, rooms=("Hall", "Kitchen"))


def plan_at(told: tuple[Company, Crew, Any], hall: str, kitchen: str = "") -> Any:
    """The working plan: a visit for the hall, and one for the kitchen if it has a time."""
    company, crew, house = told
    tasks = [task(crew, house, hall, room="Hall")]
    tasks += [task(crew, house, kitchen, room="Kitchen")] if kitchen else []
    return make_plan(company, tasks)


def publish(asker: Program, plan: Any) -> Any:
    answer = asker.post(PUBLICATIONS, {"plan": str(plan.public_id)})
    assert answer.status_code == 201, answer.json()
    return answer.json()


def changes(asker: Program, publication: Any, query: str = "") -> list[tuple[str, str, str]]:
    """Return of each visit that differs what it is, and its hours before and after."""
    said = asker.get(f"{PUBLICATIONS}{publication['id']}/changes/{query}").json()
    return [
        (v["kind"], (v["before"] or "")[5:13], (v["after"] or "")[5:13]) for v in said["visits"]
    ]


def test_the_plan_that_was_looked_at_is_published_and_no_other(
    told: tuple[Company, Crew, Any], django_capture_on_commit_callbacks: Callable[..., Any]
) -> None:
    company = told[0]
    asker = program(company)
    old, plan = plan_at(told, "2026-03-03 08:00"), plan_at(told, "2026-03-03 09:00")
    assert asker.get(f"{PUBLICATIONS}pending/").json()["plan"] == str(plan.public_id)
    refused = asker.post(PUBLICATIONS, {"plan": str(old.public_id)})
    assert (refused.status_code, refused.json()["reason"]) == (409, "replanned")
    assert program(company, Right.READ).post(PUBLICATIONS, {}).status_code == 403
    assert not Publication.objects.exists()
    with django_capture_on_commit_callbacks(execute=True):
        answer = asker.post(PUBLICATIONS, {"plan": str(plan.public_id)})
    assert (answer.status_code, answer.json()["revision"]) == (201, 1)
    assert asker.get(answer["Location"]).json() == answer.json()
    assert FeedLink.objects.get(crew=told[1]).rendered_revision == 1, "calendars tell of it"
    again = asker.post(PUBLICATIONS, {"plan": str(plan.public_id)})
    assert (again.status_code, again.json()["id"]) == (200, answer.json()["id"])
    assert Publication.objects.count() == 1


def test_a_body_names_a_plan_of_the_company_and_nothing_else() -> None:
    theirs = make_plan(make_company("Another firm"))
    asker = program(make_company())
    for body, at_fault in (
        ({}, ["#/plan"]),
        ({"plan": str(theirs.public_id), "force": True}, ["#/force", "#/plan"]),
        ({"plan": 7}, ["#/plan"]),
    ):
        answer = asker.post(PUBLICATIONS, body)
        assert (answer.status_code, pointers(answer)) == (422, at_fault)


def test_what_would_be_told_is_what_is_told(told: tuple[Company, Crew, Any]) -> None:
    asker = program(told[0])
    assert asker.get(f"{PUBLICATIONS}pending/").status_code == 409, "nothing is planned"
    publish(asker, plan_at(told, "2026-03-03 08:00", "2026-03-04 08:00"))
    plan = plan_at(told, "2026-03-03 10:00")
    pending = asker.get(f"{PUBLICATIONS}pending/").json()
    assert pending["is_new"] is True
    assert [(v["kind"], v["starts_before"], v["starts_after"]) for v in pending["visits"]] == [
        ("moved", "2026-03-03T08:00:00Z", "2026-03-03T10:00:00Z"),
        ("cancelled", "2026-03-04T08:00:00Z", None),
    ]
    assert Visit.objects.filter(cancelled_at=None).count() == 2, "nothing is stored"
    second = publish(asker, plan)
    assert changes(asker, second) == [
        ("moved", "03-03T08", "03-03T10"),
        ("cancelled", "03-04T08", ""),
    ]
    after = asker.get(f"{PUBLICATIONS}pending/").json()
    assert (after["is_new"], after["visits"], after["unchanged"]) == (False, [], 1)


def test_two_revisions_are_held_against_each_other(told: tuple[Company, Crew, Any]) -> None:
    asker = program(told[0])
    first = publish(asker, plan_at(told, "2026-03-03 08:00", "2026-03-04 08:00"))
    publish(asker, plan_at(told, "2026-03-03 10:00"))
    third = publish(asker, plan_at(told, "2026-03-03 11:00", "2026-03-04 08:00"))
    assert changes(asker, first) == [("new", "", "03-03T08"), ("new", "", "03-04T08")]
    assert changes(asker, third) == [("moved", "03-03T10", "03-03T11"), ("new", "", "03-04T08")]
    since = f"?since={first['id']}"
    assert changes(asker, third, since) == [("moved", "03-03T08", "03-03T11")], "one came back"
    fourth = publish(asker, plan_at(told, "2026-03-03 08:00", "2026-03-04 08:00"))
    assert changes(asker, fourth, since) == [], "all is as it was"
    wrong = asker.get(f"{PUBLICATIONS}{first['id']}/changes/?since={fourth['id']}")
    assert (wrong.status_code, wrong.json()["errors"][0]["parameter"]) == (422, "since")


def test_what_was_published_before_ids_were_kept_is_told_as_it_was(
    told: tuple[Company, Crew, Any],
) -> None:
    asker = program(told[0])
    first = publish(asker, plan_at(told, "2026-03-03 08:00"))
    for row in HouseRevision.objects.all():
        row.visits = [{k: v for k, v in kept.items() if k != "visit"} for kept in row.visits]
        row.save()
    (said,) = asker.get(f"{PUBLICATIONS}{first['id']}/changes/").json()["visits"]
    assert (said["visit"], said["kind"]) == ("", "new")


def test_the_last_publication_is_taken_back_once(told: tuple[Company, Crew, Any]) -> None:
    asker = program(told[0])
    first = publish(asker, plan_at(told, "2026-03-03 08:00"))
    second = publish(asker, plan_at(told, "2026-03-03 10:00"))
    not_last = asker.post(f"{PUBLICATIONS}{first['id']}/take-back/", None)
    assert (not_last.status_code, not_last.json()["reason"]) == (409, "not_the_last")
    back = asker.post(f"{PUBLICATIONS}{second['id']}/take-back/", None)
    assert (back.status_code, back.json()["revision"]) == (201, 3)
    assert back.json()["takes_back"] == second["id"]
    assert back.json()["plan"] == first["plan"]
    assert changes(asker, back.json()) == [("moved", "03-03T10", "03-03T08")]
    again = asker.post(f"{PUBLICATIONS}{back.json()['id']}/take-back/", None)
    assert (again.status_code, again.json()["reason"]) == (409, "taken_back")


def test_published_visits_are_filtered_and_keep_their_identity(
    told: tuple[Company, Crew, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    company, crew, house = told
    asker = program(company)
    publish(asker, plan_at(told, "2026-03-03 08:00", "2026-03-05 08:00"))
    before = asker.get(VISITS).json()["results"]
    assert sorted(v["starts_at"] for v in before) == [
        "2026-03-03T08:00:00Z",
        "2026-03-05T08:00:00Z",
    ]
    assert before[0]["tasks"][0]["stage"] == "tape"
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=1))
    publish(asker, plan_at(told, "2026-03-03 09:00"))
    after = {v["id"]: v for v in asker.get(VISITS).json()["results"]}
    assert after.keys() == {v["id"] for v in before}
    assert sorted(v["sequence"] for v in after.values()) == [1, 1]
    for query, count in (
        ("stands=true", 1),
        ("stands=false", 1),
        (f"crew={crew.public_id}&house={house.public_id}", 2),
        (f"crew={house.public_id}", 0),
        ("overlaps_to=2026-03-03T09:00:00Z", 0),
        ("overlaps_from=2026-03-03T10:30:00Z&overlaps_to=2026-03-04T00:00:00Z", 1),
    ):
        found = asker.get(f"{VISITS}?{query}").json()["results"]
        assert len(found) == count, query


def test_a_plan_that_names_no_crew_in_work_is_refused_with_the_reason(
    told: tuple[Company, Crew, Any],
) -> None:
    company, crew, _house = told
    plan = plan_at(told, "2026-03-03 08:00")
    crew.is_active = False
    crew.save()
    answer = program(company).post(PUBLICATIONS, {"plan": str(plan.public_id)})
    assert answer.status_code == 409
    assert answer.json()["detail"].startswith("North crew gets no more work")
    assert not Publication.objects.exists()


def test_whom_the_newest_publication_has_reached(told: tuple[Company, Crew, Any]) -> None:
    company, crew, _house = told
    asker = program(company)
    assert asker.get(f"{PUBLICATIONS}reached/").status_code == 409
    make_link(crew=crew)
    publish(asker, plan_at(told, "2026-03-02 08:00"))
    first = asker.get(f"{PUBLICATIONS}reached/").json()
    assert first["revision"] == 1
    assert [(one["crew"], one["has_fetched"]) for one in first["crews"]] == [
        (str(crew.public_id), False)
    ]
    FeedLink.objects.update(fetched_revision=1, fetched_at=MONDAY, fetched_by="A calendar")
    [one] = asker.get(f"{PUBLICATIONS}reached/").json()["crews"]
    assert (one["has_fetched"], one["feeds"][0]["fetched_by"]) == (True, "A calendar")
    assert program(company, Right.READ).get(f"{PUBLICATIONS}reached/").status_code == 403


def test_owners_read_the_trail(told: tuple[Company, Crew, Any]) -> None:
    company, _crew, _house = told
    asker = program(company)
    publish(asker, plan_at(told, "2026-03-02 08:00"))
    [deed] = asker.get("/api/v1/deeds/?code=published").json()["results"]
    assert (deed["about"], deed["by_email"]) == ("1", "")
    assert deed["program"].startswith("Program of")
    assert program(company, Right.PLAN, Right.READ).get("/api/v1/deeds/").status_code == 403
