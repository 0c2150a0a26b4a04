"""What pages keep of material and of drying coats is as fresh as what it was found from."""

from collections.abc import Callable
from datetime import date, datetime, timedelta

import pytest
from django.core.cache import cache
from pytest_django import DjangoAssertNumQueries

from finishing.models import (
    AirSource,
    Company,
    Compound,
    Crew,
    House,
    PlacingRate,
    StockLine,
)
from finishing.services.rows import change_row
from finishing.services.supplies import save_stock
from scheduling.services.house_drying import house_drying
from scheduling.services.kept_answers import kept_answer
from scheduling.services.material_orders import late_visits
from scheduling.services.material_told import material_told
from scheduling.services.publish import publish_plan
from tests.factories import make_company, make_house, make_plan, task
from tests.scheduling.services.test_material import pails, uses
from tests.sites import MONDAY, make_site, steady_air, utc

pytestmark = pytest.mark.django_db(transaction=True)
DAY = timedelta(days=1)
WEDNESDAY, FRIDAY = MONDAY + 2 * DAY, MONDAY + 4 * DAY


@pytest.fixture
def company(db: None) -> Company:
    """60 kg to put on at a house on Friday, three pails of 20 kg counted on Monday."""
    company, house = make_site(rooms=("Hall", "Kitchen"))
    compound = pails(company, lead_days=7)
    crew = Crew.objects.get(company=company)
    make_plan(company, [task(crew, house, "2026-03-06 08:00", **uses(60.0))])
    publish_plan(company=company, now=MONDAY)
    StockLine.objects.create(
        company=company,
        compound=compound,
        pack_size=20,
        packs=3,
        arrives_on=MONDAY.date(),
        counted_on=MONDAY.date(),
    )
    return company


def count(company: Company, packs: int) -> None:
    line = StockLine.objects.filter(company=company).order_by("pk")[0]
    values = {"packs": packs}
    save_stock(
        company=company, line=line, version=line.version, values=values, today=WEDNESDAY.date()
    )


def order(company: Company, arrives_on: date) -> None:
    line = StockLine.objects.filter(company=company).order_by("pk")[0]
    values = {"compound": line.compound, "pack_size": 20, "packs": 3, "arrives_on": arrives_on}
    save_stock(company=company, line=None, version=0, values=values, today=WEDNESDAY.date())


def deliver_within(company: Company, days: int) -> None:
    line = StockLine.objects.filter(company=company).order_by("pk")[0]
    assert line.compound is not None
    row = Compound.objects.get(pk=line.compound.pk)
    change_row(row, version=row.version, values={"lead_days": days})


def plan_nothing(company: Company) -> None:
    make_plan(company, [])


def is_late(company: Company, now: datetime = WEDNESDAY) -> bool:
    """Return whether Friday's visit is, as pages keep it; it is as if found anew."""
    kept = kept_answer(late_visits, company=company, now=now)
    assert kept.keys() == late_visits(company=company, now=now).keys()
    return bool(kept)


@pytest.mark.parametrize(
    "change",
    [
        lambda company: count(company, 3),
        lambda company: order(company, FRIDAY.date()),
        lambda company: deliver_within(company, 2),
        plan_nothing,
    ],
)
def test_late_material_is_what_stock_deliveries_lead_times_and_the_plan_make_it(
    company: Company, change: Callable[[Company], None]
) -> None:
    assert not is_late(company)
    count(company, 2)
    assert is_late(company)
    change(company)
    assert not is_late(company)


def test_late_material_is_that_of_the_day(company: Company) -> None:
    deliver_within(company, 1)
    count(company, 2)
    assert [is_late(company, FRIDAY - days * DAY) for days in (2, 1, 0)] == [False, False, True]


def test_looking_again_takes_one_query(
    company: Company, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    house = House.objects.get(company=company)
    looks: list[Callable[[], object]] = [
        lambda: kept_answer(late_visits, company=company, now=WEDNESDAY),
        lambda: kept_answer(material_told, company=company, now=WEDNESDAY),
        lambda: kept_answer(house_drying, company=company, now=WEDNESDAY, of=(house.pk,)),
    ]
    for look in looks:
        look()
        with django_assert_num_queries(1):
            look()


def test_what_is_told_of_material_follows_how_fast_compound_goes_on(company: Company) -> None:
    asked: list[datetime] = []

    def told(*, company: Company, now: datetime) -> int:
        asked.append(now)
        return len(asked)

    first = kept_answer(told, company=company, now=WEDNESDAY)
    rate = {"stage": "tape", "litres_per_hour": 4, "source": "Our book", "dated": MONDAY.date()}
    PlacingRate.objects.create(company=company, **rate)
    assert kept_answer(told, company=company, now=WEDNESDAY) == first + 1


def test_how_a_house_dries_follows_its_air_and_is_no_other_houses(company: Company) -> None:
    house, other = House.objects.get(company=company), make_house(company, "Ash Row")

    def warmest_c(of: House) -> float:
        curves = kept_answer(house_drying, company=company, of=(of.pk,), now=WEDNESDAY).curves
        assert curves is not None
        return float(curves.air.temperature_c.max())

    before = warmest_c(house)
    assert kept_answer(house_drying, company=company, of=(other.pk,), now=WEDNESDAY) is not None
    assert warmest_c(house) == before
    AirSource.objects.filter(company=company).delete()
    steady_air(company, temperature_c=31.0, humidity=0.5)
    assert warmest_c(house) != before


def test_no_answer_is_kept_into_another_day_where_that_begins_amid_a_slot() -> None:
    """Nepal is 5 h 45 min ahead of UTC (IANA time zones): its day begins at 18:15."""
    company = make_company(zone="Asia/Kathmandu")
    asked: list[datetime] = []

    def ask(*, company: Company, now: datetime) -> int:
        asked.append(now)
        return len(asked)

    for moment in ("18:11", "18:14", "18:16", "18:19"):
        kept_answer(ask, company=company, now=utc(f"2026-03-02 {moment}"))
    assert asked == [utc("2026-03-02 18:11"), utc("2026-03-02 18:16")]


def test_of_a_question_only_the_newest_answer_is_kept(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    keys: list[str] = []
    monkeypatch.setattr(cache, "set", lambda key, *_more: keys.append(key))
    for packs in (1, 2, 3):
        count(company, packs)
        kept_answer(late_visits, company=company, now=WEDNESDAY)
    assert len(keys) == 3
    assert len(set(keys)) == 1
