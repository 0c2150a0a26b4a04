"""Planned hours of a house beside those that its crews reported."""

from datetime import timedelta

import pytest

from scheduling.models import Visit
from scheduling.services.hours_compared import stage_hours
from scheduling.services.publish import publish_plan
from tests.factories import make_house
from tests.plans import first_plan
from tests.reported import worked
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
LATER = MONDAY + timedelta(days=60)


def test_reported_visits_are_told_by_stage_and_the_others_apart() -> None:
    company, house = make_site()
    first_plan(company)
    publish_plan(company=company, now=MONDAY)
    first, *others = Visit.objects.filter(house=house).order_by("starts_at")
    worked(first, 150, people=2)
    rows = {row.stage: row for row in stage_hours(house, LATER)}
    of_first = [task["stage"] for task in first.content["tasks"]]
    planned = sum(task["person_minutes"] for task in first.content["tasks"])
    assert sum(rows[stage].planned for stage in {*of_first}) == planned
    assert sum(row.actual for row in rows.values()) == pytest.approx(300, abs=len(rows))
    left = sum(task["person_minutes"] for one in others for task in one.content["tasks"])
    assert sum(row.unreported for row in rows.values()) == left


def test_another_house_has_none_of_it() -> None:
    company, _house = make_site()
    first_plan(company)
    publish_plan(company=company, now=MONDAY)
    worked(Visit.objects.order_by("starts_at")[0], 150)
    assert stage_hours(make_house(company, "Barn End"), LATER) == []
