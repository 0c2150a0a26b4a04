"""Quotes made and worked out for tests."""

from datetime import date
from typing import Any

from finishing.models import House, Quote
from finishing.services.quotes import make_quote
from scheduling.models import PlanRun
from scheduling.services.replan import request_run, run_replan
from tests.sites import MONDAY

ROOMS = [{"name": "Hall", "walls_m2": 40.0, "ceiling_m2": 15.0}]
FOUND = {
    "person_minutes": 5400,
    "material": {"kg": 812.5, "powder_kg": 301.5, "tape_m": 644.0},
    "cost": {"labour": 405000, "material": 91250},
    "unpriced": ["travel_hour"],
    "holds": [],
    "handover_on": "2026-04-02",
    "in_time": 0.74,
    "holds_on": "2026-04-07",
}
"""What an earlier run may have found."""
TOO_COLD = {
    "code": "too_cold",
    "house": "Ash Row 1",
    "house_id": "0190a1b2-0000-7000-8000-000000000001",
    "area": "House",
    "stages": ["tape"],
    "items": [],
    "job": "",
    "tasks": 4,
    "heat_on_by": None,
}
FOUND_WITHOUT_A_PLACE = {
    **FOUND,
    "from_takeoff": True,
    "unpriced": [],
    "holds": [TOO_COLD],
    **dict.fromkeys(("handover_on", "in_time", "holds_on")),
}
"""The same where it is too cold for some of the work."""


def quote_like(house: House | None, **values: Any) -> Quote:
    """Return a new quote for a house like one, or with the rooms that are given."""
    fields = {"name": "Ash Row 1", "opens_on": date(2026, 3, 2), "like": house, **values}
    return make_quote(company=(house or House.objects.get()).company, values=fields)


def asked_for(quote: Quote, **values: Any) -> PlanRun:
    """Return a run that works a quote out once it is done: no machine is too slow for it."""
    usual: dict[str, Any] = {"plan_from": MONDAY, "work": 2, "seconds": 600}
    return request_run(company=quote.company, quote=quote, **{**usual, **values})


def worked_out(quote: Quote) -> Quote:
    """Return a quote with what a run has found of it."""
    assert run_replan(run_id=asked_for(quote).pk) is None, "it makes no plan"
    return Quote.objects.get(pk=quote.pk)
