"""The invented demo company, from files in the same formats that anyone imports.

The files are written around the week of the anchor day; loading moves every date in them by
whole weeks, so that the week of the anchor becomes the week of today.
"""

import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.db import transaction

from finishing.models import AirDay, AirSource, Company, Compound, Price, StockLine, Supply
from finishing.rules.compounds import TOPPING
from finishing.rules.prices import PriceKind
from finishing.services.air import put_air_source, store_air
from finishing.services.air_sheet import AirFormat, read_air
from finishing.services.companies import start_company
from finishing.services.company_settings import edit_settings
from finishing.services.crew_sheet import read_crews
from finishing.services.crews import put_crew
from finishing.services.demo_forecasts import make_up_forecasts
from finishing.services.dryer_sheet import read_dryers
from finishing.services.dryers import put_dryer
from finishing.services.holidays import refresh_holidays
from finishing.services.house_sheet import read_houses
from finishing.services.houses import put_houses
from finishing.services.pack_sheet import put_packs, read_packs
from finishing.services.prices import PriceLine, edit_prices
from finishing.services.sheet_lookups import Lookups
from finishing.services.site import put_sites
from finishing.services.site_sheet import read_sites
from finishing.services.supplies import save_stock

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "demo"
ANCHOR = date(2026, 3, 2)
NAME, ZONE, COUNTRY = "Heron Lane Finishing", "Europe/Dublin", "IE"
CURRENCY = "EUR"
AIR_SOURCE = "Outdoor air"
WEEK = timedelta(weeks=1)
PRICES = {
    PriceKind.HOUR: 3150,
    PriceKind.EXTRA_HOUR: 4600,
    PriceKind.TRAVEL_HOUR: 2400,
    PriceKind.TRAVEL_KM: 58,
    PriceKind.LATE_DAY: 18000,
}
"""Invented, in cents."""
PRICED_FOR = timedelta(weeks=26)
"""Prices hold from so long before the first loading, for all work that is looked back at."""
_DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}")


class DemoNameTakenError(Exception):
    """A real company has the demo company's name; nothing was loaded."""


@transaction.atomic
def load_demo(*, today: date) -> Company:
    """Load the demo company as it stands in the week of today; loading again brings it up to date.

    Rows keep their public ids. Air of an earlier loading is deleted.
    """
    shift = _whole_weeks(today)
    if Company.objects.filter(name=NAME, is_demo=False).exists():
        raise DemoNameTakenError(f"a company of yours is called {NAME!r}, as the demo's is")
    company = Company.objects.filter(name=NAME).first() or start_company(
        name=NAME, zone=ZONE, country=COUNTRY, is_demo=True
    )
    _load_air(company, shift, today)
    content = _shifted("houses.csv", shift)
    houses = read_houses(name="houses.csv", content=content, lookups=Lookups.of(company))
    put_houses(company=company, houses=houses)
    content = _shifted("site.csv", shift)
    sites = read_sites(name="site.csv", content=content, company=company)
    put_sites(company=company, sites=sites)
    content = _shifted("crews.csv", shift)
    for crew in read_crews(name="crews.csv", content=content, company=company):
        put_crew(company=company, crew=crew)
    content = _shifted("dryers.csv", shift)
    for dryer in read_dryers(name="dryers.csv", content=content, company=company):
        put_dryer(company=company, dryer=dryer)
    content = _shifted("packs.csv", shift)
    for entry in read_packs(name="packs.csv", content=content, company=company):
        put_packs(company=company, entry=entry)
    _fill_store(company, today)
    _price(company, today)
    refresh_holidays(company=company, years=(today.year, today.year + 1))
    return company


def _fill_store(company: Company, today: date) -> None:
    """Put some packs of everything but topping into a store that nobody has counted yet."""
    if StockLine.objects.filter(company=company).exists():
        return
    for row in Compound.objects.filter(company=company).exclude(name=TOPPING.name):
        _put_packs_there(company, today, row.pack_kg, compound=row)
    for supply in Supply.objects.filter(company=company):
        _put_packs_there(company, today, supply.packs, supply=supply)


def _price(company: Company, today: date) -> None:
    """Give a company that nobody has priced yet a currency, and prices in it."""
    if company.currency or Price.objects.filter(company=company).exists():
        return
    edit_settings(company=company, version=company.version, values={"currency": CURRENCY}, years=())
    since = today - PRICED_FOR
    lines = [PriceLine(kind, kind, amount, since) for kind, amount in PRICES.items()]
    edit_prices(company=company, lines=lines)


def _put_packs_there(company: Company, today: date, sizes: list[float], **of: Any) -> None:
    values = {"pack_size": max(sizes), "packs": 12, "arrives_on": today, **of}
    save_stock(company=company, line=None, version=0, values=values, today=today)


def _whole_weeks(today: date) -> timedelta:
    monday = today - timedelta(days=today.weekday())
    return (monday - ANCHOR) // WEEK * WEEK


def _shifted(name: str, shift: timedelta) -> bytes:
    text = (FOLDER / name).read_text(encoding="utf-8")
    return _DATE.sub(lambda day: str(date.fromisoformat(day[0]) + shift), text).encode()


def _load_air(company: Company, shift: timedelta, today: date) -> None:
    AirDay.objects.filter(company=company).delete()
    source = put_air_source(company=company, name=AIR_SOURCE, kind=AirSource.Kind.STATION)
    content = _shifted("air.csv", shift)
    found = read_air(name="air.csv", content=content, file_format=AirFormat(source=AIR_SOURCE))
    store_air(source=source, readings=found[AIR_SOURCE])
    make_up_forecasts(source=source, first=min(found[AIR_SOURCE]).date(), today=today)
