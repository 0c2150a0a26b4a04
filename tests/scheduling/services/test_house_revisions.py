"""What each publication did to a house's visits is kept, whatever later ones do to them."""

from datetime import UTC, datetime, timedelta

import pytest

from finishing.models import Crew, House
from scheduling.models import HouseRevision, PlannedTask
from scheduling.services.publish import publish_plan
from scheduling.services.take_back import take_back
from tests.factories import local, make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
HOUR = timedelta(hours=1)


def publish(house: House, *tasks: PlannedTask, now: datetime) -> None:
    make_plan(house.company, tasks)
    publish_plan(company=house.company, now=now)


def kept() -> list[list[tuple[str, str, str]]]:
    return [
        [(visit["kind"], visit["starts_at"], visit["was"]) for visit in row.visits]
        for row in HouseRevision.objects.all()
    ]


def at(text: str) -> str:
    return local(text).isoformat()


def crew_and_house() -> tuple[Crew, House]:
    company = make_company()
    return make_crew(company), make_house(company)


def test_new_moved_and_cancelled_visits_are_kept_as_they_were() -> None:
    crew, house = crew_and_house()
    publish(house, task(crew, house, "2026-03-02 08:00"), now=NOW)
    publish(house, task(crew, house, "2026-03-03 08:00"), now=NOW + HOUR)
    publish(house, now=NOW + 2 * HOUR)
    assert kept() == [
        [("new", at("2026-03-02 08:00"), "")],
        [("moved", at("2026-03-03 08:00"), at("2026-03-02 08:00"))],
        [("cancelled", at("2026-03-03 08:00"), "")],
    ]
    assert HouseRevision.objects.first().visits[0]["crew"] == "North crew"  # type: ignore[union-attr]


def test_a_house_whose_visits_stay_has_no_row() -> None:
    crew, house = crew_and_house()
    other = make_house(house.company, "Quay House")
    stays = task(crew, other, "2026-03-04 08:00")
    publish(house, task(crew, house, "2026-03-02 08:00"), stays, now=NOW)
    again = task(crew, other, "2026-03-04 08:00")
    publish(house, task(crew, house, "2026-03-03 08:00"), again, now=NOW + HOUR)
    assert HouseRevision.objects.filter(house=other).count() == 1
    assert HouseRevision.objects.filter(house=house).count() == 2


def test_what_is_taken_back_is_kept_too() -> None:
    crew, house = crew_and_house()
    publish(house, task(crew, house, "2026-03-02 08:00"), now=NOW)
    take_back(company=house.company, revision=1, now=NOW + HOUR)
    assert [row[0][0] for row in kept()] == ["new", "cancelled"]
