"""A plan in figures."""

import pytest

from finishing.models import House
from scheduling.queries.summary import plan_summary
from tests.plans import first_plan
from tests.sites import make_site

pytestmark = pytest.mark.django_db


def test_a_house_that_is_over_is_none_of_a_plans() -> None:
    company, house = make_site()
    over = {"is_active": False, "handover_on": house.handover_on}
    House.objects.create(company=company, name="Handed over", **over)
    found = plan_summary(first_plan(company))
    assert (found.houses, found.visits > 0, found.held_handovers) == (1, True, 0)
