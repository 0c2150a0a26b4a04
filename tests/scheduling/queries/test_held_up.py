"""What open readiness lines hold up."""

import pytest

from finishing.rules.readiness import ODD_JOB
from finishing.rules.vocabulary import Readiness, Stage
from scheduling.held_up_wording import holds_up_sentence
from scheduling.queries.held_up import held_up_by, stages_left
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db


def test_work_that_found_no_place_is_left_too() -> None:
    company = make_company()
    house, other = make_house(company), make_house(company, "Quay House")
    holds = [
        {"house_id": str(house.public_id), "stages": ["primer_touch_up"], "job": ""},
        {"house_id": str(house.public_id), "stages": [], "job": "Patch"},
        {"house_id": str(other.public_id), "stages": ["skim"], "job": ""},
    ]
    planned = task(make_crew(company), house, "2026-03-02 08:00", stage=Stage.SAND)
    plan = make_plan(company, [planned], holds=holds)
    left = stages_left(company, house, plan, [planned])
    assert left == [Stage.SAND, Stage.PRIMER_TOUCH_UP, ODD_JOB]
    assert held_up_by(Readiness.PRIMED, left) == [Stage.PRIMER_TOUCH_UP]
    assert held_up_by(Readiness.POWER, left) == [Stage.SAND, Stage.PRIMER_TOUCH_UP]
    assert held_up_by(Readiness.WAY_IN, left) == left


def test_without_a_plan_all_that_the_company_does_is_left() -> None:
    company = make_company(stages=["tape", "sand"])
    house = make_house(company)
    assert stages_left(company, house, None, []) == [Stage.TAPE, Stage.SAND, ODD_JOB]


def test_a_plan_with_nothing_left_is_held_up_by_nothing() -> None:
    company = make_company()
    house, plan = make_house(company), make_plan(company)
    left = stages_left(company, house, plan, [])
    held = held_up_by(Readiness.POWER, left)
    assert holds_up_sentence(held, left, None) == "Holds nothing up at present."
