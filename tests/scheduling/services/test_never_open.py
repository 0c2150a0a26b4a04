"""A house whose access hours never meet the hours of a crew."""

import pytest

from scheduling.models import Visit
from scheduling.wording import hold_sentence
from tests.factories import make_house
from tests.plans import published_from
from tests.sites import MONDAY, give_board, make_site

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("access", ["sat 07:00-17:00", "mon-fri 18:00-22:00"])
def test_its_work_is_held_with_the_reason_and_other_houses_are_planned(access: str) -> None:
    """The crew works from Monday to Friday by day."""
    company, open_house = make_site()
    shut = make_house(company, "Shut House", access=access)
    give_board(shut)
    plan = published_from(company, MONDAY)
    assert {visit.house for visit in Visit.objects.select_related("house")} == {open_house}
    (held,) = plan.holds
    assert (held["code"], held["house"], held["tasks"]) == ("no_open_time", shut.name, 5)
    said = hold_sentence(held)
    assert said.startswith("Shut House, Ground floor · Tape coat, ")
    assert said.endswith("the crews, the house and the air leave no time for it")
