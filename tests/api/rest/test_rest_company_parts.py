"""Labour rates, holidays and settings of a company over the API."""

from datetime import date

import pytest

from finishing.models import Change, Company, Holiday, LabourRate, Role, User
from finishing.queries.rights import Right
from finishing.services.companies import start_company
from finishing.services.company_settings import edit_settings
from tests.api.rest.api_clients import pointers, program

pytestmark = pytest.mark.django_db
RATES, HOLIDAYS = "/api/v1/labour-rates/", "/api/v1/holidays/"
SETTINGS = "/api/v1/settings/"
RATE = {
    "stage": "tape",
    "kind": "butt",
    "person_minutes_per_unit": 2.5,
    "source": "Our timesheets",
    "dated": "2026-01-05",
}


@pytest.fixture
def company() -> Company:
    return start_company(name="Test Finishing", zone="Europe/Dublin", country="IE")


def test_a_rate_takes_the_place_of_the_usual_one_until_it_is_removed(company: Company) -> None:
    asker = program(company)
    usual = asker.get(f"{RATES}usual/").json()["rates"]
    assert {"stage": "tape", "kind": "butt", "unit": "m"}.items() <= next(
        rate for rate in usual if (rate["stage"], rate["kind"]) == ("tape", "butt")
    ).items()
    made = asker.post(RATES, RATE)
    assert made.status_code == 201, made.json()
    assert made.json().items() >= {**RATE, "unit": "m"}.items()
    changed = asker.patch(made["Location"], {"person_minutes_per_unit": 3}, made["ETag"])
    assert changed.json()["person_minutes_per_unit"] == LabourRate.objects.get().minutes == 3
    assert asker.delete(made["Location"], made["ETag"]).status_code == 412
    assert asker.delete(made["Location"], changed["ETag"]).status_code == 204
    assert not LabourRate.objects.exists()
    kinds = Change.objects.filter(what="rate").values_list("kind", flat=True)
    assert list(kinds) == ["made", "changed", "removed"]


def test_all_faults_of_a_rate_are_named_at_once(company: Company) -> None:
    asker = program(company)
    assert asker.post(RATES, RATE).status_code == 201
    nothing = {"person_minutes_per_unit": 0, "kind": "butt", "dated": "soon", "stage": "skim"}
    answer = asker.post(RATES, nothing)
    assert pointers(answer) == ["#/dated", "#/kind", "#/person_minutes_per_unit", "#/source"]
    assert pointers(asker.post(RATES, RATE)) == ["#/kind"]
    assert pointers(asker.patch(f"{RATES}{LabourRate.objects.get().public_id}/", {
        "stage": "skim", "minutes": 3, "source": ""}, "*")) == [
        "#/minutes", "#/source", "#/stage"
    ]  # fmt: skip


def test_a_holiday_of_the_companys_own_stays_when_public_ones_are_fetched(
    company: Company,
) -> None:
    asker = program(company)
    made = asker.post(HOLIDAYS, {"day": "2026-03-13", "name": "Yard day"})
    assert (made.status_code, made.json()["is_own"]) == (201, True)
    fetched = asker.post(f"{HOLIDAYS}fetch/", None)
    assert fetched.json()["public_holidays"] == Holiday.objects.filter(is_own=False).count() > 15
    # Organisation of Working Time Act 1997 (Ireland), Second Schedule: Saint Patrick's Day
    patrick = asker.get(f"{HOLIDAYS}?day_from=2026-03-14&day_to=2026-03-31").json()["results"]
    assert [(row["day"], row["is_own"]) for row in patrick] == [("2026-03-17", False)]
    address = f"{HOLIDAYS}{patrick[0]['id']}/"
    moved = asker.patch(address, {"day": "2026-03-18"}, patrick[0]["etag"])
    assert moved.json().items() >= {"id": patrick[0]["id"], "is_own": True}.items()
    assert asker.delete(address, moved["ETag"]).status_code == 204


def test_faults_of_a_holiday(company: Company) -> None:
    Holiday.objects.create(company=company, day=date(2026, 3, 13), name="Yard day")
    asker = program(company)
    refused = asker.post(HOLIDAYS, {"day": "2026-03-13", "name": "", "is_own": False})
    assert pointers(refused) == ["#/day", "#/is_own", "#/name"]


def test_settings_are_the_owners_to_change(company: Company) -> None:
    planner = User.objects.create(email="p@example.com", company=company, role=Role.PLANNER)
    owner = User.objects.create(email="o@example.com", company=company, role=Role.OWNER)
    for asker, status in (
        (program(company, Right.READ, Right.PLAN), 403),
        (program(company, person=planner), 403),
        (program(company, person=owner), 200),
    ):
        etag = asker.get(SETTINGS)["ETag"]
        answer = asker.patch(SETTINGS, {"freeze_days": 3, "country": "FR"}, etag)
        assert answer.status_code == status
    company.refresh_from_db()
    assert (company.freeze_days, company.country) == (3, "FR")
    # Code du travail (France), article L3133-1: 14 July
    assert Holiday.objects.filter(company=company, day=date(2026, 7, 14)).exists()
    logged = Change.objects.filter(company=company, what="settings")
    assert [(change.by, sorted(change.fields)) for change in logged] == [
        (owner, ["country", "freeze_days"])
    ]


def test_settings_that_somebody_else_has_changed_are_not_overwritten(company: Company) -> None:
    asker = program(company)
    seen = asker.get(SETTINGS)["ETag"]
    edit_settings(company=company, version=1, values={"travel_minutes": 40}, years=())
    refused = asker.patch(SETTINGS, {"freeze_days": 3}, seen)
    assert refused.status_code == 412
    assert refused.json()["changes"] == [{"pointer": "#/travel_minutes", "now": 40}]
    assert asker.patch(SETTINGS, {"freeze_days": 3}).status_code == 428


def test_all_faults_of_settings_are_named_at_once(company: Company) -> None:
    start_company(name="Another firm", zone="UTC")
    asker = program(company)
    wrong = {
        "name": "Another firm",
        "zone": "Mars/Base",
        "country": "QQ",
        "family": "5",
        "stages": ["tape", "paint"],
        "stages_off_by_level": {"GA-214 9": ["inspect"]},
        "gap_share": 1.5,
        "setup_minutes": 2.5,
        "is_demo": True,
    }
    answer = asker.patch(SETTINGS, wrong, asker.get(SETTINGS)["ETag"])
    assert answer.status_code == 422
    assert pointers(answer) == sorted(
        f"#/{name}" if name != "stages" else "#/stages/1" for name in wrong
    )
    company.refresh_from_db()
    assert company.version == 1
