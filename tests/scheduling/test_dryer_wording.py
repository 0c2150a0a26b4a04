"""What is said of dryers, to the office and to a crew."""

from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishing.models import Company
from finishing.models.currencies import MINOR_DIGITS
from scheduling.dryer_wording import dryer_sentence, move_lines
from scheduling.money_wording import SPACE
from scheduling.visit_wording import visit_description
from tests.scheduling.test_visit_wording import DUBLIN, SETTING_COAT, content

STAY: dict[str, Any] = {
    "code": "stay",
    "name": "Site dryer",
    "unit": 1,
    "of": 2,
    "house": "Mill Cottage",
    "set_at": "2026-03-02T11:00:00+00:00",
    "collect_at": "2026-03-05T08:00:00+00:00",
    "days": 2.88,
    "saved_minutes": 1440,
    "saved_minutes_a_day": 500,
    "cost": 3750,
}


@pytest.mark.parametrize(
    ("currency", "costs"), [("EUR", "37.50 EUR"), ("JPY", "3,750 JPY"), ("BHD", "3.750 BHD")]
)
def test_a_stay_says_where_when_what_it_saves_and_costs(currency: str, costs: str) -> None:
    """Digits after the point as ISO 4217 has them: two, none, three."""
    company = Company(currency=currency, currency_digits=MINOR_DIGITS[currency])
    assert dryer_sentence(STAY, ZoneInfo("Europe/Dublin"), company) == (
        "Site dryer (2 of 2): in Mill Cottage from Mon 2 Mar 11:00 to Thu 5 Mar 08:00 (2.9 days); "
        "saves 24 hours of lateness, 8.3 hours a day that it stands, costs "
        + costs.replace(" ", SPACE)
    )


def test_a_unit_that_saves_nothing_is_to_be_left() -> None:
    row = {"code": "leave_it", "name": "Site dryer", "unit": 0, "of": 1}
    assert (
        dryer_sentence(row, DUBLIN, Company())
        == "Site dryer: leave it, it saves nothing in this plan"
    )


def test_the_crew_reads_what_to_set_down_and_to_collect_and_how_long_it_takes() -> None:
    moves = [
        {"code": "set_down", "dryer": "Site dryer", "kind": "dehumidifier", "minutes": 30},
        {"code": "collect", "dryer": "Small dryer", "kind": "dehumidifier", "minutes": 30},
        {"code": "collect", "dryer": "Fan heater", "kind": "heater", "minutes": 0},
    ]
    assert move_lines(moves) == [
        "set down: Site dryer, switched on",
        "collect: Small dryer, its tank emptied",
        "collect: Fan heater, switched off and cool",
    ]
    told = visit_description(content({**SETTING_COAT, "dryers": moves}), DUBLIN)
    assert "- set down: Site dryer, switched on" in told
    assert "- collect: Small dryer, its tank emptied" in told
    assert "Work: 2.5 person-hours" in told
    assert "Work: 1.5 person-hours" in visit_description(content(SETTING_COAT), DUBLIN)
