"""Files that are tried before they are imported."""

from datetime import UTC, date, datetime

import pytest
from pytest_django import DjangoAssertNumQueries

from finishing.models import AirDay, Change, Closure, Company, Crew, House, Room
from finishing.services.companies import start_company
from finishing.services.errors import InputFaults
from finishing.services.example_files import columns_of, example_file
from finishing.services.file_imports import (
    MOST_BYTES,
    FileKind,
    Outcome,
    Upload,
    import_file,
    logged_import,
)
from finishing.services.imported_rows import Counts
from tests.factories import make_house

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
HEAD = "house,handover,area,room,surface,level,area_m2\n"
ROWS = "Mill,2026-03-20,Ground,Hall,walls,4,30\n,,,Attic,walls,4,20\n"


@pytest.fixture
def company() -> Company:
    return start_company(name="My company", zone="Europe/Dublin", country="IE")


def sent(company: Company, kind: FileKind, content: bytes | str, token: str = "") -> Outcome:
    raw = content if isinstance(content, bytes) else content.encode()
    upload = Upload(kind, f"{kind}.csv", raw)
    return import_file(company=company, upload=upload, by=None, now=NOW, token=token)


@pytest.mark.parametrize(("code", "digits"), [("", 2), ("JPY", 0), ("KWD", 3)])
def test_every_example_is_imported_in_order_and_is_then_there_already(
    company: Company, code: str, digits: int
) -> None:
    Company.objects.update(currency=code, currency_digits=digits)
    company.refresh_from_db()
    for kind in FileKind:
        content = example_file(company=company, kind=kind, now=NOW)
        tried = sent(company, kind, content)
        assert not tried.kept
        assert not tried.changes_nothing
        assert sent(company, kind, content, tried.token).kept
        assert sent(company, kind, content).changes_nothing
    assert Crew.objects.get().members.count() == 2
    assert AirDay.objects.count() == 15


def test_an_example_has_every_heading_that_its_reader_knows(company: Company) -> None:
    for kind in FileKind:
        required, optional = columns_of(kind)
        content = example_file(company=company, kind=kind, now=NOW).decode("utf-8-sig")
        titles = set(content.splitlines()[0].split(","))
        left_out = {*required, *optional} - titles
        assert left_out == ({"temperature_f", "temperature"} if kind is FileKind.AIR else set())


def test_an_example_of_a_site_names_a_house_of_the_companys(company: Company) -> None:
    make_house(company, "=Bad")
    make_house(company, "Mill")
    content = example_file(company=company, kind=FileKind.SITE, now=NOW).decode("utf-8-sig")
    assert "Mill" in content
    assert "=Bad" not in content


def test_trying_a_file_keeps_nothing_of_it(company: Company) -> None:
    tried = sent(company, FileKind.HOUSES, HEAD + ROWS)
    (line,) = tried.lines
    assert (line.name, line.parts["House"]) == ("Mill", Counts(new=1))
    assert line.parts["Room"] == Counts(new=2)
    assert not House.objects.exists()


def test_more_rooms_take_no_more_queries(
    company: Company, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rooms = "".join(f",,,Room {n},walls,4,20\n,,,,ceiling,4,9\n" for n in range(100))
    with django_assert_max_num_queries(70):
        sent(company, FileKind.HOUSES, HEAD + ROWS + rooms)


def test_what_goes_and_what_changes_is_said_before_it_does(company: Company) -> None:
    first = sent(company, FileKind.HOUSES, HEAD + ROWS)
    sent(company, FileKind.HOUSES, HEAD + ROWS, first.token)
    smaller = HEAD + "Mill,2026-03-27,Ground,Hall,walls,4,30\n"
    (line,) = sent(company, FileKind.HOUSES, smaller).lines
    assert line.parts["House"] == Counts(changed=1)
    assert line.parts["Room"] == Counts(removed=1)
    assert Room.objects.count() == 2


def test_what_an_import_does_to_a_house_is_logged_as_the_trial_says(company: Company) -> None:
    first = sent(company, FileKind.HOUSES, HEAD + ROWS)
    sent(company, FileKind.HOUSES, HEAD + ROWS, first.token)
    assert [(row.what, row.kind) for row in Change.objects.all()] == [("house", "made")]
    later = HEAD + "Mill,2026-03-27,Ground,Hall,walls,5,30\n"
    tried = sent(company, FileKind.HOUSES, later)
    said = [(row.what, row.kind, row.place, row.fields) for row in tried.lines[0].changes]
    assert ("house", "changed", "", {"handover_on": ["2026-03-20", "2026-03-27"]}) in said
    assert ("surface", "changed", "Ground, Hall, walls", {"level": ["4", "5"]}) in said
    assert [one[:3] for one in said if one[1] == "removed"] == [
        ("room", "removed", "Ground, Attic")
    ]
    assert Change.objects.count() == 1
    sent(company, FileKind.HOUSES, later, tried.token)
    assert Change.objects.count() == 1 + len(said)


def test_of_an_area_that_goes_nothing_that_goes_with_it_is_told(company: Company) -> None:
    house = make_house(company, "Mill", rooms=("Hall", "Kitchen"))
    area = house.areas.get()
    for day in (3, 9):
        at = date(2026, 3, day)
        Closure.objects.create(company=company, area=area, first_day=at, last_day=at)
    (line,) = sent(company, FileKind.HOUSES, HEAD + ROWS).lines
    gone = [(row.what, row.place) for row in line.changes if row.kind == "removed"]
    assert gone == [("area", "Ground floor")]


def test_what_somebody_else_does_meanwhile_to_another_house_is_not_the_imports(
    company: Company,
) -> None:
    make_house(company, "Mill")
    make_house(company, "Barn")
    with logged_import(company, FileKind.HOUSES, by=None, now=NOW) as imported:
        House.objects.update(weight=2)
        imported.names = ["Mill"]
    assert [change.house.name for change in Change.objects.all() if change.house] == ["Mill"]


def test_a_site_file_is_logged_too(company: Company) -> None:
    house = make_house(company, "Mill")
    content = "house,what,item,done\nMill,ready,power,yes\n"
    tried = sent(company, FileKind.SITE, content)
    assert sent(company, FileKind.SITE, content, tried.token).kept
    change = Change.objects.get(house=house)
    assert (change.what, change.kind, change.place) == ("readiness", "made", "power")


def test_a_house_that_was_edited_since_the_trial_is_not_overwritten(company: Company) -> None:
    first = sent(company, FileKind.HOUSES, HEAD + ROWS)
    sent(company, FileKind.HOUSES, HEAD + ROWS, first.token)
    later = HEAD + ROWS.replace("2026-03-20", "2026-03-27")
    tried = sent(company, FileKind.HOUSES, later)
    House.objects.update(address="2 Mill Lane", version=2)
    again = sent(company, FileKind.HOUSES, later, tried.token)
    assert not again.kept
    assert House.objects.get().address == "2 Mill Lane"
    assert sent(company, FileKind.HOUSES, later, again.token).kept


def test_another_file_than_the_one_tried_is_only_tried(company: Company) -> None:
    tried = sent(company, FileKind.HOUSES, HEAD + ROWS)
    other = HEAD + ROWS.replace("30", "31")
    assert not sent(company, FileKind.HOUSES, other, tried.token).kept
    assert not House.objects.exists()


def test_all_faults_are_named_with_line_and_column_and_nothing_is_kept(company: Company) -> None:
    bad = HEAD + "Mill,2026-13-20,Ground,Hall,walls,4,30\n,,,Attic,walls,9,x\n"
    with pytest.raises(InputFaults) as refused:
        sent(company, FileKind.HOUSES, bad)
    places = [fault.place for fault in refused.value.faults]
    assert places == [
        "houses.csv line 2, column handover",
        "houses.csv line 3, column level",
        "houses.csv line 3, column area_m2",
    ]
    assert not House.objects.exists()


def test_a_file_that_is_too_large(company: Company) -> None:
    with pytest.raises(InputFaults, match="larger than 1,500,000 bytes"):
        sent(company, FileKind.HOUSES, b"x" * (MOST_BYTES + 1))


def test_another_companys_house_is_not_touched(company: Company) -> None:
    other = make_house(start_company(name="Other", zone="UTC"), "Mill")
    tried = sent(company, FileKind.HOUSES, HEAD + ROWS)
    assert tried.lines[0].parts["House"] == Counts(new=1)
    assert sent(company, FileKind.HOUSES, HEAD + ROWS, tried.token).kept
    other.refresh_from_db()
    assert other.version == 1
