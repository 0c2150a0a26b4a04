"""POST /api/v1/imports/<kind>/: files and rows, taken in whole or not at all."""

import csv
import io
from typing import Any

import pytest
from django.test import Client

from finishing.models import AirDay, AirSource, Change, Company, Crew, Dryer, House, Supply, Surface
from finishing.queries.rights import Right
from finishing.services import sheets
from finishing.services.companies import start_company
from finishing.services.example_files import example_file
from finishing.services.file_imports import FileKind
from tests.api.rest.answers import Answer
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
IMPORTS = "/api/v1/imports/"
ORDER = tuple(FileKind)
HOUSES = """house,handover,area,room,surface,level,area_m2
Larch Row 3,2026-03-20,Ground floor,Hall,ceiling,4,12
,,,,walls,4,30
Mill Cottage,2026-03-27,Whole house,Everything,walls,3,85
"""


@pytest.fixture
def company() -> Company:
    return start_company(name="Test Finishing", zone="Europe/Dublin", country="IE")


def send_file(
    asker: Program, kind: str, content: str | bytes, query: str = "", **headers: str
) -> Answer:
    sent: Any = asker.client.post(
        f"{IMPORTS}{kind}/{query}",
        content,
        content_type="text/csv; charset=utf-8",
        headers={name.replace("_", "-"): value for name, value in headers.items()},
    )
    answer: Answer = sent
    return answer


def rows_of(text: str) -> list[dict[str, Any]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_every_kinds_example_file_is_taken_in_as_it_is(company: Company) -> None:
    asker = program(company)
    for kind in ORDER:
        content = example_file(company=company, kind=kind, now=MONDAY)
        answer = send_file(asker, kind, content)
        assert answer.status_code == 200, (kind, answer.json())
        assert answer.json()["stored"] is True
        assert answer.json()["things"]
        again = send_file(asker, kind, content).json()
        assert [thing["parts"] for thing in again["things"]] == [[] for _ in again["things"]]
    assert Crew.objects.exists()
    assert AirDay.objects.exists()
    assert Dryer.objects.exists()
    assert Supply.objects.exists()
    assert set(Change.objects.exclude(what="holiday").values_list("what", flat=True)) >= {
        "compound",
        "supply",
    }


def test_the_same_as_rows_comes_to_the_same(company: Company) -> None:
    other = start_company(name="Another firm", zone="Europe/Dublin", country="IE")
    asker, theirs = program(company), program(other)
    for kind in ORDER:
        content = example_file(company=company, kind=kind, now=MONDAY)
        by_file = send_file(asker, kind, content)
        by_rows = theirs.post(f"{IMPORTS}{kind}/", rows_of(content.decode("utf-8-sig")))
        assert by_rows.status_code == 200, (kind, by_rows.json())
        assert by_rows.json() == by_file.json()


def test_a_trial_says_what_would_come_of_it_and_stores_nothing(company: Company) -> None:
    asker = program(company)
    tried = send_file(asker, "houses", HOUSES, "?dry_run=true").json()
    assert tried["stored"] is False
    assert [(thing["name"], thing["is_new"]) for thing in tried["things"]] == [
        ("Larch Row 3", True),
        ("Mill Cottage", True),
    ]
    assert not House.objects.exists()
    assert not Change.objects.exists()
    stored = send_file(asker, "houses", HOUSES, "?dry_run=false").json()
    assert stored == {**tried, "stored": True}
    shorter = HOUSES.replace(",,,,walls,4,30\n", "").replace("2026-03-27", "2026-03-30")
    row, cottage = send_file(asker, "houses", shorter, "?dry_run=true").json()["things"]
    assert {part["of"]: part["removed"] for part in row["parts"]}["surface"] == 1
    assert [edit["what"] for edit in row["edits"]] == ["surface"]
    assert [edit["changed"] for edit in cottage["edits"]] == [
        {"handover_on": ["2026-03-27", "2026-03-30"]}
    ]
    assert Surface.objects.count() == 3


def test_all_faults_of_a_file_are_named_by_line_and_column(company: Company) -> None:
    wrong = HOUSES.replace(",4,12", ",9,much").replace("2026-03-27", "soon").replace("85", "-1")
    answer = send_file(program(company), "houses", wrong)
    assert answer.status_code == 422
    places = {(one["line"], one["column"]) for one in answer.json()["errors"]}
    assert places == {(2, "level"), (2, "area_m2"), (4, "handover"), (4, "area_m2")}
    assert not House.objects.exists()


@pytest.mark.parametrize(
    ("content", "error"),
    [
        (b"", {"pointer": "#"}),
        (b"house,hndover\n", {"line": 1}),
        (HOUSES.encode() + b"caf\xe9", {"line": 5}),
        (HOUSES.encode() + b'"open', {"line": 5}),
        (HOUSES.encode("utf-16"), {"pointer": "#"}),
        (HOUSES.encode() + b"a\0", {"pointer": "#"}),
    ],
)
def test_a_file_that_is_none_is_refused(
    company: Company, content: bytes, error: dict[str, Any]
) -> None:
    answer = send_file(program(company), "houses", content)
    assert answer.status_code == 422
    assert error.items() <= answer.json()["errors"][0].items()


def test_all_faults_of_rows_are_named_by_pointer(company: Company) -> None:
    rows: list[Any] = rows_of(HOUSES)
    rows[0] |= {"level": 9, "area_m2": "much", "colour": "white"}
    rows[1] |= {"area_m2": [30]}
    rows[2] |= {"area_m2": 1e300, "wet_area": True, "room": "a\u0007"}
    answer = program(company).post(f"{IMPORTS}houses/", [*rows, "row", {"house": "No handover"}])
    assert answer.status_code == 422
    found = pointers(answer)
    for place in ("0", "0/level", "0/area_m2", "1/area_m2", "2/area_m2", "2/room", "3"):
        assert f"#/{place}" in found
    assert any(place.startswith("#/4") for place in found)
    assert not House.objects.exists()


@pytest.mark.parametrize("body", [[], {}, "house,handover", 3, [[]], [{}], [{"house": "A"}]])
def test_what_is_no_list_of_rows_is_refused(company: Company, body: Any) -> None:
    sent = f'"{body}"' if isinstance(body, str) else body
    answer = program(company).post(f"{IMPORTS}houses/", sent)
    assert answer.status_code == 422
    assert all(place.startswith("#") for place in pointers(answer))


def test_numbers_and_truth_values_are_as_in_a_file(company: Company) -> None:
    rows = rows_of(HOUSES)
    rows[0] |= {"area_m2": 12.5, "wet_area": True, "tiled_later": False, "critical_light": None}
    assert program(company).post(f"{IMPORTS}houses/", rows).status_code == 200
    ceiling = Surface.objects.get(part="ceiling")
    assert (ceiling.area_m2, ceiling.wet_area, ceiling.tiled_later) == (12.5, True, False)


def test_two_rows_that_contradict_each_other_name_the_other_by_its_place(company: Company) -> None:
    rows = rows_of(HOUSES)
    rows[1] |= {"house": "Larch Row 3", "handover": "2026-03-21", "area": "Ground floor"}
    answer = program(company).post(f"{IMPORTS}houses/", rows)
    (error,) = [one for one in answer.json()["errors"] if one["pointer"] == "#/1/handover"]
    assert "#/0" in error["detail"]


def test_air_is_a_houses_and_local_where_a_zone_is_named(company: Company) -> None:
    house = make_house(company)
    rows = [
        {"time": "2026-07-01 00:00", "temperature": 68, "humidity": 60},
        {"time": "2026-07-01 01:00", "temperature": 68, "humidity": 62.5},
    ]
    query = f"?house={house.public_id}&zone=Europe/Dublin&unit=F"
    answer = program(company).post(f"{IMPORTS}air/{query}", rows)
    assert answer.status_code == 200, answer.json()
    source = AirSource.objects.get(name=house.name)
    assert source.kind == "logger"
    night = AirDay.objects.get(source=source, day="2026-06-30")
    assert (night.temperature_c[23], night.humidity[23]) == (20, 0.6)


def test_all_faults_of_the_query_are_named_at_once(company: Company) -> None:
    theirs = make_house(start_company(name="Another firm", zone="UTC"))
    asker, rows = program(company), [{"time": "2026-07-01T00:00Z", "humidity": 60}]
    query = f"?house={theirs.public_id}&zone=Mars&unit=K&holes=1&dry_run=yes&x="
    answer = asker.post(f"{IMPORTS}air/{query}", rows)
    assert answer.status_code == 422
    assert sorted(error["parameter"] for error in answer.json()["errors"]) == [
        "dry_run", "holes", "house", "unit", "x", "zone",
    ]  # fmt: skip
    assert asker.post(f"{IMPORTS}crews/?zone=UTC", rows).status_code == 422


def test_a_table_of_too_many_rows_is_refused(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheets, "MOST_ROWS", 2)
    asker = program(company)
    for answer in (
        send_file(asker, "houses", HOUSES),
        asker.post(f"{IMPORTS}houses/", rows_of(HOUSES)),
    ):
        assert (answer.status_code, pointers(answer)) == (422, ["#"])


def test_a_file_that_is_too_large_is_refused(company: Company) -> None:
    assert send_file(program(company), "air", b"x" * 12_000_001).status_code == 413


def test_a_key_takes_a_file_in_once(company: Company) -> None:
    asker = program(company)
    for content, status in ((HOUSES, 200), (HOUSES, 200), (HOUSES + "\n,,,,", 422)):
        answer = send_file(asker, "houses", content, idempotency_key="k")
        assert answer.status_code == status
    assert House.objects.count() == 2


def test_who_may_not_plan_takes_nothing_in(company: Company) -> None:
    reader = program(company, Right.READ)
    for kind in FileKind:
        assert send_file(reader, kind, HOUSES).status_code == 403
        assert Client().post(f"{IMPORTS}{kind}/", HOUSES, "text/csv").status_code == 401
