"""/api/v1/houses/<id>/history/: all that tells of a house, in one list, page by page."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from finishing.models import Change, House, Note
from scheduling.models import ExtraWork, Obstacle, Publication, Report, Visit
from scheduling.services.publish import publish_plan
from tests.api.rest.api_clients import Program, program
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
THEN = datetime(2026, 3, 1, 8, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture
def house() -> House:
    """A house of which every kind of row tells, three of them of the same moment."""
    house = make_house(make_company(), rooms=("Hall",))
    crew = make_crew(house.company)
    make_plan(house.company, [task(crew, house, THEN, room="Hall")])
    publish_plan(company=house.company, now=THEN - HOUR)
    visit, key = Visit.objects.get(), f"{house.areas.get().rooms.get().public_id}:tape"
    of_house: dict[str, Any] = {"company": house.company, "house": house, "at": THEN + 5 * HOUR}
    said = {**of_house, "crew": crew, "visit": visit}
    Report.objects.create(
        company=house.company, crew=crew, kind="not_dry", key=key, at=THEN, said_at=THEN
    )
    Obstacle.objects.create(**said, reason="damage")
    extra = {"what": "Box round a pipe", "person_minutes": 90, "settled_at": THEN + 9 * HOUR}
    ExtraWork.objects.create(**said, **extra)
    moved = {"handover_on": ["2026-03-27", "2026-04-02"]}
    Change.objects.create(**of_house, kind="changed", what="house", fields=moved)
    for number in range(3):
        Note.objects.create(**of_house, text=f"Note {number}")
    return house


def read(asker: Program, address: str) -> dict[str, Any]:
    answer = asker.get(address)
    assert answer.status_code == 200, answer.json()
    found: dict[str, Any] = answer.json()
    return found


def test_all_kinds_are_told_newest_first_and_each_alone(
    house: House, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    asker, address = program(house.company), f"/api/v1/houses/{house.public_id}/history/"
    with django_assert_max_num_queries(20):
        found = read(asker, address)
    events = found["results"]
    assert found["next"] is None
    assert [event["text"] for event in events[:6]] == [
        "The house: Handover Thu 2 Apr instead of Fri 27 Mar",
        "Extra work: Box round a pipe, 1.5 person-hours",
        "Note 2",
        "Note 1",
        "Note 0",
        "Cannot work: Damage by others",
    ]
    assert [event["kind"] for event in events[6:]] == ["visit", "report", "revision"]
    settled = events[1]
    assert (settled["who"], settled["ended_at"]) == ("North crew", "2026-03-01T17:00:00Z")
    assert settled["id"] == str(ExtraWork.objects.get().public_id)
    assert events[-1]["id"] == str(Publication.objects.get().public_id)
    for kind in {event["kind"] for event in events}:
        alone = read(asker, f"{address}?kind={kind}")["results"]
        assert alone == [event for event in events if event["kind"] == kind]


@pytest.mark.parametrize("limit", [1, 2, 4])
def test_pages_follow_each_other_though_something_happens_meanwhile(
    house: House, limit: int
) -> None:
    asker, address = program(house.company), f"/api/v1/houses/{house.public_id}/history/"
    events = read(asker, address)["results"]
    page = read(asker, f"{address}?limit={limit}")
    Note.objects.create(company=house.company, house=house, text="New", at=THEN + 8 * HOUR)
    found = page["results"]
    while page["next"]:
        page = read(asker, page["next"])
        assert len(page["results"]) <= limit
        found += page["results"]
    assert found == events


@pytest.mark.parametrize(
    "cursor",
    [
        "2026-03-01T08:00:00Z%20note",
        "2026-03-01T08:00:00Z%20letter%201",
        "2026-03-01T08:00:00Z%20note%20-1",
        f"2026-03-01T08:00:00Z%20note%20{2**63}",
        "0001-01-01T00:00:00%2B14:00%20note%201",
    ],
)
def test_a_cursor_that_no_answer_gave_and_a_kind_that_is_none_are_named(
    house: House, cursor: str
) -> None:
    address = f"/api/v1/houses/{house.public_id}/history/"
    asker = program(house.company)
    for asked, name in ((f"cursor={cursor}", "cursor"), ("kind=letter", "kind")):
        answer = asker.get(f"{address}?{asked}")
        assert (answer.status_code, answer.json()["errors"][0]["parameter"]) == (422, name)
