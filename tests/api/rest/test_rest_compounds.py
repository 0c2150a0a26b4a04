"""/api/v1/compounds/ and /api/v1/jointing-systems/: what is put on, in which stage."""

from typing import Any

import pytest

from finishing.models import Change, Company, Compound, House, JointingSystem, Role, User
from finishing.services.companies import start_company
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_house

pytestmark = pytest.mark.django_db
COMPOUNDS, SYSTEMS = "/api/v1/compounds/", "/api/v1/jointing-systems/"
NEW = {
    "name": "Quick topping",
    "hardening": "dries",
    "stages": ["finish", "second"],
    "water_percent": 30,
    "pack_kg": [5, 12.5],
}


@pytest.fixture
def company() -> Company:
    return start_company(name="Test Finishing", zone="Europe/Dublin")


def compound(company: Company, begins: str) -> Compound:
    return Compound.objects.get(company=company, name__startswith=begins)


def test_a_compound_is_made_changed_and_removed_and_the_history_says_so(company: Company) -> None:
    person = User.objects.create(email="p@example.com", company=company, role=Role.PLANNER)
    asker = program(company, person=person)
    made = asker.post(COMPOUNDS, NEW)
    assert made.status_code == 201, made.json()
    said = made.json()
    assert said["stages"] == ["second", "finish"]  # in the order of the work
    assert (said["water_percent"], said["practice_hours"], said["pack_kg"]) == (30, 24, [5, 12.5])
    assert compound(company, "Quick").water_fraction == 0.3
    changed = asker.patch(made["Location"], {"practice_hours": 16}, said["etag"])
    assert changed.json() == {**said, "practice_hours": 16, "etag": changed["ETag"]}
    assert asker.delete(made["Location"], changed["ETag"]).status_code == 204
    log = Change.objects.filter(company=company, what="compound").values_list("kind", "by__email")
    assert list(log) == [(kind, person.email) for kind in ("made", "changed", "removed")]


def test_all_faults_of_a_compound_are_named_at_once(company: Company) -> None:
    wrong = {
        "name": "All-purpose, drying",
        "hardening": "sets",
        "stages": ["sand"],
        "tapes": "mesh",
        "set_hours": 0,
        "water_percent": 95,
        "density_kg_per_l": "heavy",
        "pack_kg": [0],
        "minimum_c": 20,
        "maximum_c": 10,
        "water_fraction": 0.3,
    }
    answer = program(company).post(COMPOUNDS, wrong)
    assert answer.status_code == 422
    assert pointers(answer) == [
        "#/density_kg_per_l",
        "#/maximum_c",
        "#/name",
        "#/pack_kg",
        "#/set_hours",
        "#/stages/0",
        "#/tapes",
        "#/water_fraction",
        "#/water_percent",
        "#/working_minutes",
    ]


def test_a_compound_that_is_used_stays_as_its_systems_need_it(company: Company) -> None:
    base = compound(company, "Setting base, 45")
    asker, address = program(company), f"{COMPOUNDS}{base.public_id}/"
    etag = asker.get(address)["ETag"]
    refused = asker.patch(address, {"stages": ["skim"]}, etag)
    assert refused.status_code == 422
    assert len(refused.json()["errors"]) >= 2
    assert asker.delete(address, etag).status_code == 409
    base.refresh_from_db()
    assert "prefill" in base.stages


def usual(asker: Program) -> dict[str, Any]:
    """What the API says of the default system."""
    rows = asker.get(f"{SYSTEMS}?is_default=true").json()["results"]
    assert len(rows) == 1
    said: dict[str, Any] = rows[0]
    return said


def test_a_system_is_made_of_compounds_and_becomes_the_default(company: Company) -> None:
    asker = program(company)
    before = usual(asker)
    body = {name: before[name] for name in ("tape", "compounds")}
    made = asker.post(SYSTEMS, {**body, "name": "Winter", "is_default": True})
    assert made.status_code == 201, made.json()
    assert made.json()["compounds"] == before["compounds"]
    assert usual(asker)["name"] == "Winter"
    old = f"{SYSTEMS}{before['id']}/"
    assert asker.delete(old, before["etag"]).status_code == 412  # it is no default any more
    assert asker.delete(old, asker.get(old)["ETag"]).status_code == 204
    assert asker.delete(made["Location"], made["ETag"]).status_code == 409


def test_a_change_of_one_stage_keeps_the_others(company: Company) -> None:
    asker = program(company)
    before = usual(asker)
    topping = str(compound(company, "All-purpose").public_id)
    address = f"{SYSTEMS}{before['id']}/"
    changed = asker.patch(address, {"compounds": {"finish": topping}}, before["etag"])
    assert changed.status_code == 200, changed.json()
    assert changed.json()["compounds"] == {**before["compounds"], "finish": topping}


def test_a_system_that_no_plan_could_use_is_refused_with_all_its_faults(company: Company) -> None:
    asker = program(company)
    before = usual(asker)
    names = [row.name for row in JointingSystem.objects.filter(company=company)]
    topping = str(compound(company, "Topping").public_id)
    by_stage = {"tape": topping, "prefill": topping, "finish": None, "sand": topping}
    wrong = {"name": names[-1], "is_default": False, "compounds": by_stage}
    answer = asker.patch(f"{SYSTEMS}{before['id']}/", wrong, before["etag"])
    assert answer.status_code == 422
    assert {"#/name", "#/is_default", "#/compounds/sand"} <= set(pointers(answer))
    del by_stage["sand"]
    answer = asker.patch(f"{SYSTEMS}{before['id']}/", {"compounds": by_stage}, usual(asker)["etag"])
    assert (answer.status_code, len(pointers(answer)) >= 3) == (422, True)
    assert set(pointers(answer)) == {"#/compounds"}
    assert usual(asker) == before


def test_a_system_that_a_house_names_is_not_removed(company: Company) -> None:
    system = JointingSystem.objects.filter(company=company, is_default=False)[0]
    house = make_house(company)
    House.objects.filter(pk=house.pk).update(system=system)
    asker, address = program(company), f"{SYSTEMS}{system.public_id}/"
    refused = asker.delete(address, asker.get(address)["ETag"])
    assert (refused.status_code, house.name in refused.json()["detail"]) == (409, True)
