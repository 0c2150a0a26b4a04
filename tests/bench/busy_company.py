"""An invented company as an office of forty houses has it today: planned, published, followed.

Nothing is drawn: rooms have boards, two years of air are on record, and the plan is that of a run
that hardly searches.
"""

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from finishing.models import Company

ROOMS = ("Hall", "Kitchen", "Sitting room", "Landing")
HOUSES_A_CREW = 5
HEATED: dict[str, Any] = {
    "heating": "heated",
    "setpoint_c": 20.0,
    "volume_m3": 500.0,
    "air_changes_per_h": 0.5,
}
TWO_YEARS, WEEK_AHEAD = 730, 7


def busy_company(
    now: datetime,
    *,
    houses: int = 40,
    name: str = "Alder Row Finishing",
    air_days: int = TWO_YEARS,
) -> "Company":
    """Make the company, what it plans and publishes now, each crew's calendar and page."""
    from scheduling.services.links import make_links
    from scheduling.services.publish import publish_plan
    from tests.plans import plan_from

    company = unplanned_company(now, houses=houses, name=name, air_days=air_days)
    plan_from(company, now, work=1)
    make_links(company=company)
    publish_plan(company=company, now=now)
    return company


def unplanned_company(
    now: datetime, *, houses: int, name: str, air_days: int = TWO_YEARS
) -> "Company":
    """Make the company as it is before its first plan."""
    from finishing.services.companies import start_company
    from tests.factories import ZONE, make_crew, make_house
    from tests.sites import give_board

    company = start_company(name=name, zone=ZONE)
    for number in range(max(1, houses // HOUSES_A_CREW)):
        make_crew(company, f"Crew {number + 1}")
    for number in range(houses):
        due = now.date() + timedelta(days=14 + 2 * number)
        row = f"Alder Row {number + 1}"
        give_board(make_house(company, row, rooms=ROOMS, handover_on=due, **HEATED))
    put_air(company, now, air_days)
    return company


def put_air(company: "Company", now: datetime, days: int) -> None:
    """Record hourly air with seasons, days and nights, and weather, up to a week from now."""
    from tests.sites import hourly_station

    first = now.date() - timedelta(days=days - WEEK_AHEAD)
    hours, chance = np.arange(24 * days), np.random.default_rng(7)
    fronts = np.repeat(chance.normal(0, 2.5, days), 24)
    season = 5 * np.sin(2 * np.pi * (hours / 24 + first.timetuple().tm_yday - 105) / 365)
    warmth = 11 + season + 3 * np.sin(2 * np.pi * (hours - 9) / 24) + fronts
    humidity = np.clip(0.78 - 0.02 * (warmth - 11) + chance.normal(0, 0.03, hours.size), 0.3, 1)
    hourly_station(company, warmth.round(1).tolist(), humidity.round(3).tolist(), first=first)
