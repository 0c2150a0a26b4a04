"""Editing prices: what is refused, what is kept."""

from datetime import date
from typing import Any

import pytest

from finishing.models import Company, Dryer, Price
from finishing.queries.prices import price_list
from finishing.rules.prices import PriceKind
from finishing.services.company_settings import edit_settings
from finishing.services.errors import InputFaults
from finishing.services.prices import PriceLine, edit_prices
from finishing.services.rows import StaleRowsError
from tests.factories import make_company, make_crew, make_house

pytestmark = pytest.mark.django_db
MONDAY, NEXT = date(2026, 3, 2), date(2026, 3, 9)


def line(place: str = "one", **values: Any) -> PriceLine:
    return PriceLine(**{"place": place, "kind": "hour", "amount": 4500, "since": MONDAY, **values})


def seen(row: Price, **values: Any) -> PriceLine:
    stored = {"kind": row.kind, "amount": row.amount, "since": row.since, "crew": row.crew}
    return line(public_id=row.public_id, version=row.version, **{**stored, **values})


def test_prices_of_crews_and_houses_are_kept_beside_the_companys() -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    lines = [line(), line(crew=crew, amount=6000), line(kind="late_day", house=house, amount=0)]
    edit_prices(company=company, lines=lines)
    prices = price_list(company)
    assert prices.on(PriceKind.HOUR, MONDAY) == 4500
    assert prices.on(PriceKind.HOUR, MONDAY, str(crew.public_id)) == 6000
    assert prices.on(PriceKind.LATE_DAY, MONDAY, str(house.public_id)) == 0


def test_all_that_is_wrong_is_said_at_once_and_nothing_is_stored() -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    lines = [
        line("zero", amount=0),
        line("twice-1", kind="travel_hour"),
        line("twice-2", kind="travel_hour"),
        line("house", house=house, since=NEXT),
        line("crew", kind="late_day", crew=crew),
        line("theirs", crew=make_crew(make_company("Other"))),
        line("zeros", kind="travel_km", amount=2_000_000_001),
    ]
    with pytest.raises(InputFaults) as refused:
        edit_prices(company=company, lines=lines)
    assert {fault.place for fault in refused.value.faults} == {
        "zero-amount",
        "twice-2-since",
        "house-house",
        "crew-crew",
        "theirs-crew",
        "zeros-amount",
    }
    assert not Price.objects.exists()


def test_two_prices_may_swap_their_days() -> None:
    company = make_company()
    edit_prices(company=company, lines=[line(), line(amount=5000, since=NEXT)])
    one, two = Price.objects.order_by("since")
    edit_prices(company=company, lines=[seen(one, since=NEXT), seen(two, since=MONDAY)])
    assert price_list(company).on(PriceKind.HOUR, MONDAY) == 5000
    assert {row.public_id for row in Price.objects.all()} == {one.public_id, two.public_id}


def test_a_price_that_somebody_else_changed_is_not_written_over() -> None:
    company = make_company()
    edit_prices(company=company, lines=[line()])
    (row,) = Price.objects.all()
    edit_prices(company=company, lines=[seen(row, amount=4700)])
    with pytest.raises(StaleRowsError):
        edit_prices(company=company, lines=[seen(row, amount=4800)])
    assert Price.objects.get().amount == 4700
    edit_prices(company=company, lines=[seen(Price.objects.get(), remove=True)])
    assert not Price.objects.exists()


def choose(company: Company, code: str) -> None:
    company.refresh_from_db()
    edit_settings(company=company, version=company.version, values={"currency": code}, years=())


@pytest.mark.parametrize(
    ("code", "digits"),
    [("EUR", 2), ("JPY", 0), ("KWD", 3), ("CLF", 4)],  # ISO 4217, list one (from memory)
)
def test_a_currency_brings_its_minor_unit(code: str, digits: int) -> None:
    company = make_company()
    choose(company, code)
    company.refresh_from_db()
    assert (company.currency, company.currency_digits) == (code, digits)


@pytest.mark.parametrize("code", ["XAU", "XTS", "XXX", "ABC", "eur", "€"])
def test_what_nobody_is_paid_in_is_no_currency(code: str) -> None:
    with pytest.raises(InputFaults, match="ISO 4217"):
        choose(make_company(), code)


@pytest.mark.parametrize("held", ["price", "dryer"])
def test_amounts_do_not_become_a_hundred_times_as_much(held: str) -> None:
    """4,500 cents would be 4,500 yen."""
    company = make_company()
    choose(company, "EUR")
    if held == "price":
        edit_prices(company=company, lines=[line()])
    else:
        Dryer.objects.create(company=company, name="Dry", litres_per_day=30, cost_per_day=1200)
    with pytest.raises(InputFaults, match="remove the prices first"):
        choose(company, "JPY")
    choose(company, "GBP")
    company.refresh_from_db()
    assert (company.currency, company.currency_digits) == ("GBP", 2)
