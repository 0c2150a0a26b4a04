"""What is known of a house besides its rooms, over the API: readiness, closures, coats done, odd
jobs, notes, edits; and dryers."""

from typing import Any

import pytest

from finishing.models import Area, Change, Company, Compound, House, Role, User
from finishing.services.companies import start_company
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_house

pytestmark = pytest.mark.django_db
V1 = "/api/v1/"


class Site:
    """A house, a house beside it, and a planner's program."""

    def __init__(self, company: Company) -> None:
        self.company = company
        self.house, self.beside = make_house(company), make_house(company, "Larch Row 3")
        self.person = User.objects.create(email="p@x.example", company=company, role=Role.PLANNER)
        self.asker: Program = program(company, person=self.person)

    def area(self, house: House | None = None) -> str:
        return str(Area.objects.filter(house=house or self.house)[0].public_id)

    def bodies(self) -> dict[str, dict[str, Any]]:
        """A new row of each collection."""
        house = {"house": str(self.house.public_id)}
        return {
            "readiness-lines": {**house, "item": "power", "owed_by": "Electrician"},
            "closures": {
                "area": self.area(),
                "first_day": "2026-03-12",
                "last_day": "2026-03-13",
                "reason": "Tiler",
            },
            "coats-done": {
                "area": self.area(),
                "stage": "tape",
                "ended_at": "2026-02-27T15:30:00Z",
                "done_by": "Another firm",
            },
            "odd-jobs": {**house, "name": "Patch the porch", "person_minutes": 90},
            "notes": {**house, "area": self.area(), "text": "Dog.\nKey under the pot."},
            "dryers": {
                **house,
                "name": "Site dryer",
                "kind": "dehumidifier",
                "litres_per_day": 40,
                "rated_humidity_percent": 60,
                "cost_per_day_minor": 1250,
            },
        }


@pytest.fixture
def site() -> Site:
    return Site(start_company(name="Test Finishing", zone="Europe/Dublin"))


CHANGES: dict[str, tuple[dict[str, Any], str]] = {
    "readiness-lines": ({"done": True, "expected_on": "2026-03-04"}, "readiness"),
    "closures": ({"last_day": "2026-03-16"}, "closure"),
    "coats-done": ({"stage": "second", "done_by": ""}, "coat_done"),
    "odd-jobs": ({"done": True, "skill": "coating"}, "odd_job"),
    "notes": ({"is_struck": True}, ""),
    "dryers": ({"rated_humidity_percent": 65, "house": None}, ""),
}


@pytest.mark.parametrize("collection", CHANGES)
def test_a_row_is_made_found_changed_and_removed(site: Site, collection: str) -> None:
    body, (change, logged) = site.bodies()[collection], CHANGES[collection]
    made = site.asker.post(f"{V1}{collection}/", body)
    assert made.status_code == 201, made.json()
    assert made.json().items() >= body.items()
    for house, found in ((site.house, 1), (site.beside, 0)):
        listed = site.asker.get(f"{V1}{collection}/?house={house.public_id}").json()["results"]
        assert len(listed) == found
    changed = site.asker.patch(made["Location"], change, made["ETag"])
    assert changed.status_code == 200, changed.json()
    assert changed.json() == {**made.json(), **change, "etag": changed["ETag"]}
    assert site.asker.patch(made["Location"], change, made["ETag"]).status_code == 412
    removed = site.asker.delete(made["Location"], changed["ETag"])
    assert removed.status_code == (405 if collection == "notes" else 204)
    edits = site.asker.get(f"{V1}edits/?house={site.house.public_id}").json()["results"]
    told = [(edit["what"], edit["kind"], edit["by"]) for edit in edits]
    kinds = ("made", "changed", "removed") if logged else ()
    assert told == [(logged, kind, site.person.email) for kind in kinds]


WRONG: dict[str, tuple[dict[str, Any], list[str]]] = {
    "readiness-lines": (
        {"item": "sauna", "done": "yes", "expected_on": "soon", "owed_by": "a\x00"},
        ["done", "expected_on", "item", "owed_by"],
    ),
    "closures": (
        {"first_day": "2026-03-14", "last_day": "2026-03-13", "reason": "x" * 121, "why": ""},
        ["last_day", "reason", "why"],
    ),
    "coats-done": (
        {"stage": "sand", "ended_at": "2027-01-01T00:00Z", "compound": "", "done_by": 1},
        ["compound", "done_by", "ended_at"],
    ),
    "odd-jobs": ({"name": "", "person_minutes": 0, "skill": "all"}, [
        "name", "person_minutes", "skill",
    ]),
    "notes": ({"text": " ", "is_struck": True, "by": "me"}, ["by", "is_struck", "text"]),
    "dryers": (
        {"kind": "heater", "rated_humidity_percent": 120, "hold_c": 50, "tank_l": 0, "count": 0},
        ["count", "heat_kw", "hold_c", "rated_humidity_percent", "tank_l"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("collection", WRONG)
def test_all_faults_are_named_at_once(site: Site, collection: str) -> None:
    wrong, places = WRONG[collection]
    answer = site.asker.post(f"{V1}{collection}/", {**site.bodies()[collection], **wrong})
    assert answer.status_code == 422
    assert pointers(answer) == [f"#/{place}" for place in places]
    assert site.asker.get(f"{V1}{collection}/").json()["results"] == []
    assert not Change.objects.exists()


@pytest.mark.parametrize(
    ("collection", "at"),
    [
        ("readiness-lines", "item"),
        ("closures", "first_day"),
        ("coats-done", "area"),
        ("odd-jobs", "name"),
        ("dryers", "name"),
    ],
)
def test_what_is_there_already_is_not_made_again(site: Site, collection: str, at: str) -> None:
    body = site.bodies()[collection]
    assert site.asker.post(f"{V1}{collection}/", body).status_code == 201
    again = site.asker.post(f"{V1}{collection}/", body)
    assert (again.status_code, pointers(again)) == (422, [f"#/{at}"])


def test_two_closures_of_an_area_that_come_to_overlap_are_refused(site: Site) -> None:
    body = site.bodies()["closures"]
    for first, last in (("2026-03-02", "2026-03-03"), ("2026-03-09", "2026-03-10")):
        made = site.asker.post(f"{V1}closures/", {**body, "first_day": first, "last_day": last})
    wrong = site.asker.patch(made["Location"], {"first_day": "2026-03-03"}, made["ETag"])
    assert pointers(wrong) == ["#/first_day"]


def test_a_compound_that_its_stage_does_not_use_is_refused(site: Site) -> None:
    compound = str(Compound.objects.filter(company=site.company)[0].public_id)
    body = {**site.bodies()["coats-done"], "stage": "sand", "compound": compound}
    assert pointers(site.asker.post(f"{V1}coats-done/", body)) == ["#/compound"]


def test_a_note_of_another_houses_area_is_refused(site: Site) -> None:
    body = {**site.bodies()["notes"], "area": site.area(site.beside)}
    assert pointers(site.asker.post(f"{V1}notes/", body)) == ["#/area"]


@pytest.mark.parametrize("text", ["bell\x07", "a\u2028b\x1b"])
def test_a_note_of_what_cannot_be_seen_is_refused(site: Site, text: str) -> None:
    body = {**site.bodies()["notes"], "text": text}
    assert pointers(site.asker.post(f"{V1}notes/", body)) == ["#/text"]


def test_a_program_of_nobody_writes_too_and_no_name_is_given(site: Site) -> None:
    asker = program(site.company)
    for collection, body in site.bodies().items():
        assert asker.post(f"{V1}{collection}/", body).status_code == 201, collection
    assert set(Change.objects.values_list("by", flat=True)) == {None}
    assert [row["by"] for row in asker.get(f"{V1}notes/").json()["results"]] == [None]


def test_edits_are_found_by_what_and_when(site: Site) -> None:
    for collection, body in site.bodies().items():
        site.asker.post(f"{V1}{collection}/", body)
    asked = site.asker.get(f"{V1}edits/?what=odd_job&at_from=2026-03-02T00:00:00Z").json()
    (edit,) = asked["results"]
    assert edit["changed"]["person_minutes"] == [None, 90]
    later = site.asker.get(f"{V1}edits/?at_from=2026-03-02T00:00:01Z").json()
    assert later["results"] == []
