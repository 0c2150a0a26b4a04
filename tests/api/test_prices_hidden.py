"""What packs and dryers cost is for who may plan: wherever else it stands it is left out."""

import csv
import json
from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.utils import timezone

from finishing.models import Change, Company, Compound, Crew, Dryer, House, Role, Supply
from finishing.queries.rights import Right
from tests.api.conftest import SignIn
from tests.api.rest.api_clients import program
from tests.factories import make_plan, task
from tests.plans import first_plan
from tests.sites import make_site

pytestmark = pytest.mark.django_db
PRICE = 98_765
SHOWN = "987.65"
FIELD = {"dryers": "cost_per_day_minor", "compounds": "pack_prices", "supplies": "pack_prices"}


@pytest.fixture
def company(db: None) -> Company:
    company = make_site()[0]
    Compound.objects.filter(company=company).update(pack_kg=[20.0], pack_prices=[PRICE])
    Supply.objects.create(
        company=company, kind="paper_tape", name="Tape", packs=[75.0], pack_prices=[PRICE]
    )
    Dryer.objects.create(company=company, name="Dry", litres_per_day=30, cost_per_day=PRICE)
    return company


def order_something(company: Company) -> None:
    """A visit in two days' time that takes more of a compound than is there."""
    compound = Compound.objects.filter(company=company)[0]
    material = {"litres": 20.0, "kg": 32.0, "powder_kg": 0.0, "water_l": 0.0, "tape_m": 0.0}
    details: dict[str, Any] = {"compound": compound.name, "hardening": compound.hardening}
    crew, house = Crew.objects.get(company=company), House.objects.get(company=company)
    soon = timezone.now() + timedelta(days=2)
    make_plan(company, [task(crew, house, soon, minutes=180, material=material, **details)])


@pytest.mark.parametrize("kind", FIELD)
def test_rows_have_no_price_for_programs_that_may_not_plan(company: Company, kind: str) -> None:
    reader, planner = program(company, Right.READ), program(company, Right.PLAN)
    for row in planner.get(f"/api/v1/{kind}/").json()["results"]:
        one = f"/api/v1/{kind}/{row['id']}/"
        assert row[FIELD[kind]] in (PRICE, [PRICE])
        assert planner.get(one).json()[FIELD[kind]] == row[FIELD[kind]]
        assert FIELD[kind] not in reader.get(one).json()
        assert reader.patch(one, {FIELD[kind]: row[FIELD[kind]]}, "*").status_code == 403
    assert str(PRICE) not in json.dumps(reader.get(f"/api/v1/{kind}/").json())


def test_the_order_list_has_no_price_for_them(company: Company, sign_in: SignIn) -> None:
    order_something(company)
    orders = program(company, Right.PLAN).get("/api/v1/material/").json()["orders"]
    assert orders[0]["price"] == 2 * PRICE
    hidden = program(company, Right.READ).get("/api/v1/material/").json()["orders"]
    assert [line["price"] for line in hidden] == [None] * len(orders)
    for role, shown in ((Role.PLANNER, SHOWN), (Role.VIEWER, "")):
        text = sign_in(company, role).get("/material/orders/").text
        lines = csv.DictReader(StringIO(text))
        assert {line["price_each"] for line in lines} == {shown}


def test_pages_of_what_is_bought_have_no_price_for_readers(
    company: Company, sign_in: SignIn
) -> None:
    compound, supply = Compound.objects.filter(company=company)[0], Supply.objects.get()
    viewer, planner = sign_in(company, Role.VIEWER), sign_in(company, Role.PLANNER)
    for page in (f"compounds/{compound.public_id}/", f"supplies/{supply.public_id}/"):
        assert SHOWN in planner.get(f"/company/{page}").text
        text = viewer.get(f"/company/{page}").text
        assert SHOWN not in text
        assert "pack_prices" not in text


def test_a_house_says_what_its_dryers_save_and_to_planners_what_they_cost(
    company: Company, sign_in: SignIn
) -> None:
    house, plan = House.objects.get(company=company), first_plan(company)
    stay = {"code": "stay", "name": "Dry", "unit": 0, "of": 1, "days": 2, "cost": PRICE}
    stay |= {"house_id": str(house.public_id), "house": house.name}
    stay |= {"set_at": "2026-03-02T10:00:00+00:00", "collect_at": "2026-03-04T10:00:00+00:00"}
    plan.dryers = [{**stay, "saved_minutes": 600, "saved_minutes_a_day": 300}]
    plan.save()
    for role, shown in ((Role.PLANNER, True), (Role.VIEWER, False)):
        text = sign_in(company, role).get(f"/houses/{house.public_id}/").text
        assert "saves 10 hours of lateness" in text
        assert ("costs 987.65" in text) == shown


def test_edits_of_pack_prices_are_no_news_for_readers(company: Company, sign_in: SignIn) -> None:
    supply, planner = Supply.objects.get(), program(company, Right.PLAN)
    where = f"/api/v1/supplies/{supply.public_id}/"
    for body in ({"pack_prices": [4321]}, {"pack_prices": [5432], "lead_days": 3}):
        assert planner.patch(where, body, "*").status_code == 200
    assert Change.objects.filter(what="supply").count() == 2
    assert "4321" in json.dumps(planner.get("/api/v1/edits/").json())
    (edit,) = program(company, Right.READ).get("/api/v1/edits/").json()["results"]
    assert edit["changed"] == {"lead_days": [0, 3]}
    for role, shown in ((Role.PLANNER, True), (Role.VIEWER, False)):
        text = sign_in(company, role).get("/company/history/").text
        assert ("Price of each pack" in text) == shown
        assert "Delivered after, days" in text
