"""The pages of material: the order list, its file, the store, what is bought, placing rates."""

import csv
from datetime import date, timedelta
from io import StringIO
from typing import Any
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

import pytest
from django.db.models import F
from django.test import Client
from django.utils import timezone, translation
from pytest_django import DjangoAssertNumQueries

from finishing.models import Company, Compound, Crew, House, PlacingRate, StockLine, Supply
from finishing.services.harmless_csv import BYTE_ORDER_MARK
from scheduling.material_wording import TIMES
from scheduling.models import Visit
from scheduling.services.links import make_page, page_address
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import make_plan, task
from tests.sites import make_site

pytestmark = pytest.mark.django_db
DRYING = "All-purpose, drying"
SETTING = "Setting base, 45 min working"


@pytest.fixture
def company(db: None) -> Company:
    return make_site()[0]


@pytest.fixture
def house(company: Company) -> House:
    return House.objects.get(company=company)


@pytest.fixture
def crew(company: Company) -> Crew:
    return Crew.objects.get(company=company)


@pytest.fixture
def office(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def plan_mixes(company: Company, crew: Crew, house: House, **more: Any) -> None:
    """20 L of a setting base in two days' time."""
    material = {"litres": 20.0, "kg": 32.0, "powder_kg": 20.0, "water_l": 12.0, "tape_m": 0.0}
    details: dict[str, Any] = {"compound": SETTING, "hardening": "sets", "material": material}
    soon = timezone.now() + timedelta(days=2)
    make_plan(company, [task(crew, house, soon, minutes=180, **details, **more)])


def test_the_page_says_what_to_order_what_is_needed_and_what_crews_load_and_mix(
    office: Client, company: Company, crew: Crew, house: House
) -> None:
    plan_mixes(company, crew, house)
    text = office.get("/material/").text
    assert f"{SETTING}: 20 kg" in text
    assert f"1 {TIMES} 20 kg" in text
    assert f"{SETTING}, 20 kg: load 1 {TIMES} 20 kg" in text
    assert "3 mixes, each of 6.7 L (10.7 kg) from 6.7 kg powder and 4 L water" in text
    assert "alkaline" in text
    assert "come before their material" not in text


def test_a_crew_is_cautioned_once_a_visit_beside_what_it_mixes(
    client: Client, office: Client, company: Company, crew: Crew, house: House
) -> None:
    plan_mixes(company, crew, house, cautions=["alkaline_powder", "ladders"])
    publish_plan(company=company, now=timezone.now())
    day = Visit.objects.get().starts_at.astimezone(ZoneInfo(crew.zone)).date()
    page = urlsplit(page_address(make_page(crew=crew))).path
    on_the_phone = client.get(f"{page}{day}/").text
    to_mix, cautions = on_the_phone.split("To mix")[1].split("<summary>Cautions")
    assert "alkaline" in to_mix
    assert "Work at height" in cautions
    sheet = office.get(f"/week/{day}/crews/{crew.public_id}/sheet/").text
    for text in (on_the_phone, sheet):
        assert (text.count("To mix"), text.count("alkaline")) == (1, 1)


def test_an_empty_plan_says_what_belongs_there(office: Client) -> None:
    text = office.get("/material/").text
    assert "Nothing has to be ordered" in text
    assert "Tape, beads and sandpaper are not counted until you say how you buy them." in text


def delivered_within(company: Company, *, days: int) -> None:
    rows = Compound.objects.filter(company=company)
    rows.update(lead_days=days, version=F("version") + 1)


def test_a_visit_that_comes_before_its_material_is_flagged_everywhere(
    office: Client, company: Company, crew: Crew, house: House
) -> None:
    plan_mixes(company, crew, house)
    delivered_within(company, days=9)
    day = timezone.now() + timedelta(days=2)
    for page in ("/material/", "/fit/", f"/week/{day:%Y-%m-%d}/"):
        assert "ot there in time" in office.get(page).text, page
    delivered_within(company, days=1)
    for page in ("/material/", "/fit/", f"/week/{day:%Y-%m-%d}/"):
        assert "ot there in time" not in office.get(page).text, page


def test_the_file_has_a_line_for_each_size_of_pack(
    office: Client, company: Company, crew: Crew, house: House
) -> None:
    base = Compound.objects.get(company=company, name=SETTING)
    base.pack_kg, base.pack_prices = [12.0, 8.0], [1250, 900]
    base.save()
    House.objects.filter(pk=house.pk).update(name="=HYPERLINK(1)")
    plan_mixes(company, crew, house)
    answer = office.get("/material/orders/")
    assert answer["Content-Disposition"] == 'attachment; filename="orders.csv"'
    rows = list(csv.DictReader(StringIO(answer.text.removeprefix(BYTE_ORDER_MARK))))
    figures = [(row["pack_size"], row["packs"], row["price_each"]) for row in rows]
    assert figures == [("12.0", "1", "12.50"), ("8.0", "1", "9.00")]
    assert {row["houses"] for row in rows} == {"'=HYPERLINK(1)"}


def test_the_page_takes_as_many_queries_however_long_the_plan(
    office: Client,
    company: Company,
    crew: Crew,
    house: House,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    soon = timezone.now() + timedelta(days=1)
    rows = [
        task(crew, house, soon + timedelta(days=number), key=f"r{number}:tape", compound=DRYING)
        for number in range(12)
    ]
    make_plan(company, rows)
    for most in (19, 4):  # then the page is kept
        with django_assert_max_num_queries(most):
            assert office.get("/material/").status_code == 200


def test_the_store_is_counted_and_faults_are_named_at_once(
    office: Client, company: Company
) -> None:
    compound = Compound.objects.get(company=company, name=DRYING)
    line = {
        "new-1-version": "0",
        "new-1-what": str(compound.public_id),
        "new-1-pack_size": "0",
        "new-1-packs": "3",
        "new-1-arrives_on": "2026-03-02",
    }
    refused = office.post("/company/stock/", line)
    assert refused.status_code == 422
    assert "greater than or equal to 0.1" in refused.text
    assert refused.text.count('<details class="folded" open>') == 1, "what was typed in is in sight"
    kept = office.post("/company/stock/", {**line, "new-1-pack_size": "20"})
    assert kept.status_code == 302
    row = StockLine.objects.get()
    assert (row.compound, row.pack_size, row.packs) == (compound, 20, 3)
    assert row.arrives_on == date(2026, 3, 2)
    assert row.counted_on == timezone.localdate(timezone=ZoneInfo(company.zone))
    page = office.get("/company/stock/").text
    assert f"60 kg there now, of 3 {TIMES} 20 kg" in page
    assert '<details class="folded" open>' not in page
    assert (
        f"3 {TIMES} 20 kg. Opened since by visits: 0 kg. Reckoned to be there now: 60 kg." in page
    )
    StockLine.objects.update(counted_on=None)
    assert "Nobody has said when, so nothing is taken off" in office.get("/company/stock/").text
    before = f"stock-{row.public_id}"
    gone = {f"{before}-version": "1", f"{before}-what": str(compound.public_id)}
    gone |= {f"{before}-pack_size": "20", f"{before}-packs": "3", f"{before}-remove": "on"}
    assert office.post("/company/stock/", {**gone, f"{before}-arrives_on": "2026-03-02"})
    assert not StockLine.objects.exists()


def test_a_supply_is_made_and_a_pack_of_nothing_refused(office: Client, company: Company) -> None:
    sent = {
        "version": "0",
        "kind": "paper_tape",
        "name": "Paper tape",
        "packs": "0; 75",
        "pack_prices": "410",
        "used_per_unit": "1,1",
        "lead_days": "3",
    }
    refused = office.post("/company/supplies/new/", sent)
    assert refused.status_code == 422
    assert "must each be at least 0.1" in refused.text
    assert "give one price for each pack" in refused.text
    made = office.post("/company/supplies/new/", {**sent, "packs": "75; 150", "pack_prices": ""})
    assert made.status_code == 302
    row = Supply.objects.get(company=company)
    assert (row.packs, row.used_per_unit, row.lead_days) == ([75, 150], 1.1, 3)
    again = office.post("/company/supplies/new/", {**sent, "packs": "75", "pack_prices": ""})
    assert "There is one of this kind" in again.text
    assert "Paper tape" in office.get("/company/compounds/").text


@pytest.mark.parametrize(
    ("money", "typed", "stored", "shown"),
    [
        (("EUR", 2), "4,10; 7.6", [410, 760], "4.10; 7.60"),
        (("JPY", 0), "410; 760", [410, 760], "410; 760"),
        (("KWD", 3), "1.2 2.105", [1200, 2105], "1.200; 2.105"),
    ],
)
def test_prices_of_packs_are_typed_and_shown_as_money(
    office: Client, money: tuple[str, int], typed: str, stored: list[int], shown: str
) -> None:
    currency, digits = money
    Company.objects.update(currency=currency, currency_digits=digits)
    sent = {"version": "0", "kind": "paper_tape", "name": "Tape", "packs": "75; 150"}
    sent |= {"used_per_unit": "1.1", "lead_days": "3"}
    assert office.post("/company/supplies/new/", {**sent, "pack_prices": typed}).status_code == 302
    row = Supply.objects.get()
    assert row.pack_prices == stored
    page = office.get(f"/company/supplies/{row.public_id}/").text
    assert f'value="{shown}"' in page
    assert f"Price of each pack, {currency}" in page


@pytest.mark.parametrize(
    ("digits", "typed", "said"),
    [
        (0, "4.50; 8", "This currency has no minor unit"),
        (2, "4.505; 8", "This currency has 2 digits after the point"),
        (2, "dear; 8", "This is no amount"),
        (2, "-1; 8", "An amount is 0 or more."),
    ],
)
def test_a_price_of_a_pack_that_is_no_money_is_refused(
    office: Client, digits: int, typed: str, said: str
) -> None:
    Company.objects.update(currency_digits=digits)
    sent = {"version": "0", "kind": "paper_tape", "name": "Tape", "packs": "75; 150"}
    sent |= {"used_per_unit": "1.1", "lead_days": "3", "pack_prices": typed}
    refused = office.post("/company/supplies/new/", sent)
    assert refused.status_code == 422
    assert said in refused.text
    assert not Supply.objects.exists()


def test_a_placing_rate_is_set_and_a_rate_of_nothing_refused(
    office: Client, company: Company
) -> None:
    sent = {
        "tape-version": "0",
        "tape-litres_per_hour": "0",
        "tape-source": "",
        "tape-dated": "2026-01-05",
    }
    refused = office.post("/company/placing/", sent)
    assert refused.status_code == 422
    assert "Must be from 0.1 to 500.0." in refused.text
    assert "Say where the figure comes from." in refused.text
    kept = {**sent, "tape-litres_per_hour": "6.5", "tape-source": "Our own count"}
    assert office.post("/company/placing/", kept).status_code == 302
    assert PlacingRate.objects.get(company=company).litres_per_hour == 6.5


def test_a_crew_reads_its_load_and_its_mixes_in_its_language_and_on_paper(
    client: Client, office: Client, company: Company, crew: Crew, house: House
) -> None:
    plan_mixes(company, crew, house)
    publish_plan(company=company, now=timezone.now())
    day = timezone.now() + timedelta(days=2)
    address = f"{page_address(make_page(crew=crew))}{day:%Y-%m-%d}/"
    sheet = f"/week/{day:%Y-%m-%d}/crews/{crew.public_id}/sheet/"
    for text in (client.get(address).text, office.get(sheet).text):
        assert "To load into the van" in text
        assert f"{SETTING}, 20 kg: load 1 {TIMES} 20 kg" in text
        assert "Water to mix with: 12 L" in text
        assert "Mix no whole batch of it after" in text
    Crew.objects.filter(pk=crew.pk).update(language="es")
    with translation.override("en"):
        text = client.get(address).text
    assert "To load into the van" not in text
    assert "Water to mix with" not in text
    assert "Mix no whole batch" not in text
