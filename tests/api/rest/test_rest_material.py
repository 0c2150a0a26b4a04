"""What is bought, what is there, placing rates and what a plan asks for, over the API."""

from datetime import timedelta

import pytest
from django.utils import timezone

from finishing.models import (
    Change,
    Company,
    Compound,
    Crew,
    House,
    PlacingRate,
    StockLine,
    Supply,
)
from scheduling.services.publish import publish_plan
from tests.api.rest.api_clients import pointers, program
from tests.factories import make_plan, task
from tests.plans import first_plan
from tests.scheduling.services.test_material import pails, uses
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
SUPPLIES, STOCK = "/api/v1/supplies/", "/api/v1/stock/"
PLACING, MATERIAL = "/api/v1/placing-rates/", "/api/v1/material/"
TAPE = {"kind": "paper_tape", "name": "Paper tape", "packs": [75, 150], "pack_prices": [310, 560]}


@pytest.fixture
def company(db: None) -> Company:
    return make_site()[0]


def test_a_supply_is_made_changed_and_removed_with_its_stock(company: Company) -> None:
    asker = program(company)
    made = asker.post(SUPPLIES, TAPE)
    assert made.status_code == 201, made.json()
    packs = {"supply": made.json()["id"], "pack_size": 75, "packs": 4, "arrives_on": "2026-03-02"}
    stored = asker.post(STOCK, packs)
    assert stored.status_code == 201
    assert (stored.json()["used"], stored.json()["left"]) == (0, 300)
    there = stored.json() | {"packs": 3, "counted_on": "2026-03-02"}
    counted = asker.patch(stored["Location"], there, stored["ETag"])
    assert (counted.json()["left"], counted.json()["counted_on"]) == (225, "2026-03-02")
    refused = asker.patch(stored["Location"], {"counted_on": "2099-01-01"}, counted["ETag"])
    assert pointers(refused) == ["#/counted_on"]
    changed = asker.patch(made["Location"], {"lead_days": 3}, made["ETag"])
    assert changed.json()["lead_days"] == Supply.objects.get().lead_days == 3
    assert asker.delete(made["Location"], changed["ETag"]).status_code == 204
    assert not StockLine.objects.exists()
    logged = Change.objects.filter(company=company, what="supply").values_list("kind", flat=True)
    assert list(logged) == ["made", "changed", "removed"]


def test_what_visits_open_meanwhile_is_nobodys_edit(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stock line's tag stays good for a change though less is there by now."""
    asker, compound = program(company), pails(company, lead_days=7)
    packs = {"compound": str(compound.public_id), "pack_size": 20, "packs": 5}
    seen = asker.post(STOCK, {**packs, "arrives_on": "2026-03-01", "counted_on": "2026-03-02"})
    crew, house = Crew.objects.get(company=company), House.objects.get(company=company)
    make_plan(company, [task(crew, house, "2026-03-03 08:00", **uses(30.0))])
    publish_plan(company=company, now=MONDAY)
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(days=2))
    now = asker.get(seen["Location"])
    assert (now.json()["left"], now["ETag"] == seen["ETag"]) == (60, False)
    changed = asker.patch(seen["Location"], {"arrives_on": "2026-02-27"}, seen["ETag"])
    assert changed.status_code == 200, changed.json()
    stale = asker.patch(seen["Location"], {"arrives_on": "2026-02-26"}, now["ETag"])
    assert (stale.status_code, stale.json()["changes"][0]["pointer"]) == (412, "#/arrives_on")


def test_packs_of_nothing_and_prices_of_no_pack_are_refused_at_once(company: Company) -> None:
    asker = program(company)
    refused = asker.post(SUPPLIES, {**TAPE, "packs": [0, 75], "pack_prices": [310]})
    assert pointers(refused) == ["#/pack_prices", "#/packs"]
    assert asker.post(SUPPLIES, TAPE).status_code == 201
    assert pointers(asker.post(SUPPLIES, TAPE)) == ["#/kind"]
    compound = Compound.objects.filter(company=company)[0]
    where = f"/api/v1/compounds/{compound.public_id}/"
    refused = asker.patch(where, {"pack_kg": [0], "density_kg_per_l": 0}, "*")
    assert pointers(refused) == ["#/density_kg_per_l", "#/pack_kg"]
    both = {"pack_size": 0, "packs": 1, "arrives_on": "2026-03-02"}
    assert pointers(asker.post(STOCK, both)) == ["#/compound", "#/pack_size"]


def test_a_placing_rate_takes_the_place_of_the_usual_one(company: Company) -> None:
    asker = program(company)
    rate = {"stage": "tape", "litres_per_hour": 6, "source": "Count", "dated": "2026-01-05"}
    made = asker.post(PLACING, rate)
    assert made.status_code == 201, made.json()
    assert pointers(asker.post(PLACING, {**rate, "litres_per_hour": 0})) == [
        "#/litres_per_hour",
        "#/stage",
    ]
    assert asker.delete(made["Location"], made["ETag"]).status_code == 204
    assert not PlacingRate.objects.exists()


def test_what_a_plan_asks_for(company: Company, monkeypatch: pytest.MonkeyPatch) -> None:
    first_plan(company)
    monkeypatch.setattr("api.rest.material.timezone.now", lambda: MONDAY)
    found = program(company).get(MATERIAL).json()
    assert found["orders"]
    assert all(sum(pack["packs"] for pack in line["packs"]) > 0 for line in found["orders"])
    (house,) = found["by_house"]
    by_crew = {a["name"]: a["amount"] for need in found["by_crew"] for a in need["amounts"]}
    assert {a["name"]: a["amount"] for a in house["amounts"]} == pytest.approx(by_crew)
    assert any(visit["loads"] for visit in found["visits"])
    assert any(visit["mixing"] for visit in found["visits"])
