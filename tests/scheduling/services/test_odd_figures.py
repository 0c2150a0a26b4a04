"""A house whose row holds a figure that no house has waits by itself, and is named."""

import pytest

from finishing.models import House
from scheduling.services.held_air import held_air
from scheduling.services.inputs import build_inputs
from scheduling.wording import hold_sentence
from tests.factories import make_house
from tests.plans import plan_from
from tests.sites import MONDAY, make_heated_site

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("volume_m3", -240.0, "odd_volume"),
        ("air_changes_per_h", -1.0, "odd_air_changes"),
        ("heat_kw", -5.0, "odd_heat"),
        ("setpoint_c", 180.0, "odd_setpoint"),
    ],
)
def test_the_house_is_named_and_the_others_are_planned(field: str, value: float, code: str) -> None:
    company, good = make_heated_site()
    odd = make_house(company, "Odd House", heating="heated", setpoint_c=20.0)
    House.objects.filter(pk=odd.pk).update(**{field: value})  # as written by some other program
    plan = plan_from(company)
    assert {task.house for task in plan.tasks.all()} == {good}
    (said,) = [hold_sentence(hold) for hold in plan.holds if hold["code"] == code]
    assert said.startswith("Odd House: no ")
    odd.refresh_from_db()
    timeline = build_inputs(company=company, now=MONDAY).timeline
    assert held_air(odd, timeline, MONDAY, 0.5) is None
    assert held_air(good, timeline, MONDAY, 0.5) is not None


def test_all_of_a_house_is_told_at_once() -> None:
    company, house = make_heated_site()
    House.objects.filter(pk=house.pk).update(volume_m3=-1.0, heat_kw=-1.0)
    inputs = build_inputs(company=company, now=MONDAY)
    assert [hold.code for hold in inputs.holds] == ["odd_volume", "odd_heat"]
    assert [len(areas) for areas in inputs.areas_due.values()] == [1]
