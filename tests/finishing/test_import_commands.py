"""The import commands as someone at a terminal meets them."""

import os
import subprocess
import sys
from collections.abc import Callable
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from finishing.models import AirDay, AirSource, Change, Company, Crew, Holiday, House, OddJob
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db

HOUSES = "house,handover,area,room,surface,level,area_m2\nMill,2026-03-20,Ground,Hall,walls,4,30\n"
CREWS = "crew,member,skills,hours\nNorth,Ann,all,mon-fri 07:00-15:30\n"
AIR = "time,temperature_c,humidity\n2026-03-02T10:00Z,8,80\n2026-03-02T11:00Z,8,81\n"

type Run = Callable[..., str]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Write a file and import it; gives standard output."""

    def run_command(command: str, content: str | bytes, *options: str) -> str:
        path = tmp_path / f"{command.removeprefix('import_')}.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        out = StringIO()
        call_command(command, str(path), *options, stdout=out)
        return out.getvalue()

    return run_command


def test_a_first_import_makes_a_company_and_says_so(run: Run) -> None:
    said = run("import_houses", HOUSES, "--zone", "Europe/Dublin")
    assert "Mill: 1 areas, 1 rooms, handover 2026-03-20" in said
    assert "made the company 'My company', time zone Europe/Dublin" in said
    assert House.objects.get().zone == "Europe/Dublin"
    assert "made the company" not in run("import_houses", HOUSES)
    assert Company.objects.count() == 1


def test_never_into_the_demo_company_unless_it_is_named(run: Run) -> None:
    demo = make_company("Demo", is_demo=True)
    run("import_houses", HOUSES)
    assert House.objects.get().company != demo
    run("import_houses", HOUSES, "--company", "Demo")
    assert House.objects.filter(company=demo).exists()


def test_several_companies_and_none_named(run: Run) -> None:
    make_company("North")
    make_company("South")
    with pytest.raises(CommandError, match="known: 'North', 'South'; use --company NAME"):
        run("import_houses", HOUSES)


def test_faults_one_per_line_on_standard_error_and_nothing_imported(
    run: Run, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = HOUSES + "Bad,soon,Ground,Hall,walls,9,-1\n"
    with pytest.raises(CommandError, match=r"^3 faults: nothing was imported$") as caught:
        run("import_houses", bad)
    assert caught.value.returncode == 1
    assert capsys.readouterr().err.splitlines() == [
        "houses.csv line 3, column handover: 'soon' is not a date written as YYYY-MM-DD",
        "houses.csv line 3, column level: level '9' is not one of GA-214: 0, 1, 2, 3, 4, 5",
        "houses.csv line 3, column area_m2: -1 must not be below 0",
    ]
    assert not Company.objects.exists()


@pytest.mark.parametrize("command", ["import_houses", "import_crews", "import_air", "import_site"])
def test_wrong_header_and_wrong_encoding(run: Run, command: str) -> None:
    with pytest.raises(CommandError, match="faults: nothing was imported"):
        run(command, "a,b\n1,2\n")
    with pytest.raises(CommandError, match="1 fault: nothing was imported"):
        run(command, "house\nCafé\n".encode("cp1252"))


def test_a_file_that_is_not_there() -> None:
    with pytest.raises(CommandError, match="No such file"):
        call_command("import_houses", "nowhere.csv")


def test_an_unknown_zone() -> None:
    with pytest.raises(CommandError, match="not an IANA time zone"):
        call_command("import_houses", "houses.csv", "--zone", "Dublin")


def test_crews_and_holidays(run: Run) -> None:
    said = run("import_crews", CREWS)
    assert "North: 1 members" in said
    assert "no public holidays: give the country with --country" in said
    assert not Holiday.objects.exists()
    assert "public holidays of IE" in run("import_crews", CREWS, "--country", "ie")
    assert Holiday.objects.filter(name="Christmas Day").count() == 2
    assert Crew.objects.count() == 1


def test_an_unknown_country_imports_nothing(run: Run) -> None:
    with pytest.raises(CommandError, match="1 fault"):
        run("import_crews", CREWS, "--country", "QQ")
    assert not Crew.objects.exists()


def test_site(run: Run) -> None:
    make_house(make_company(), "Mill")
    said = run("import_site", "house,what,item,minutes\nMill,odd_job,Patch,30\n")
    assert said == "Mill: 0 readiness lines, 0 closures, 1 odd jobs\n"
    assert OddJob.objects.get().person_minutes == 30


def test_air_of_a_station_is_named_after_its_file_unless_it_is_named(run: Run) -> None:
    said = run("import_air", AIR)
    assert "air: 2 hours, 2026-03-02 10:00Z to 2026-03-02 11:00Z\n" in said
    run("import_air", AIR, "--source", "Roof")
    assert set(AirSource.objects.values_list("name", "kind")) == {
        ("air", "station"),
        ("Roof", "station"),
    }
    assert AirDay.objects.count() == 2


def test_air_of_a_house_is_a_loggers_and_belongs_to_it(run: Run) -> None:
    house = make_house(make_company(), "Mill")
    assert ", for Mill" in run("import_air", AIR, "--house", "Mill")
    house.refresh_from_db()
    assert house.air_source is not None
    assert (house.air_source.name, house.air_source.kind) == ("Mill", "logger")


def test_air_of_an_unknown_house(run: Run) -> None:
    make_house(make_company(), "Mill")
    with pytest.raises(CommandError, match="no house 'Bill'; known: 'Mill'"):
        run("import_air", AIR, "--house", "Bill")
    assert not AirSource.objects.exists()


def test_one_house_has_one_air(run: Run, capsys: pytest.CaptureFixture[str]) -> None:
    make_house(make_company(), "Mill")
    content = (
        "station,time,temperature_c,humidity\nA,2026-03-02T10:00Z,8,80\nB,2026-03-02T10:00Z,8,80\n"
    )
    with pytest.raises(CommandError, match="1 fault: nothing was imported"):
        run("import_air", content, "--house", "Mill")
    assert "has 2 stations: a house takes one" in capsys.readouterr().err
    assert not AirSource.objects.exists()


def test_an_empty_embedded_database_is_migrated_first(tmp_path: Path) -> None:
    path = tmp_path / "houses.csv"
    path.write_text(HOUSES)
    for database_is_new in (True, False):
        done = subprocess.run(
            [sys.executable, "manage.py", "import_houses", str(path)],
            cwd=settings.BASE_DIR,
            env=os.environ | {"COATWEAVE_VAR": str(tmp_path / "var")},
            capture_output=True,
            text=True,
            check=True,
        )
        assert ("database brought up to date" in done.stderr) is database_is_new


def test_zone_and_country_of_a_company_that_is_there_already(run: Run) -> None:
    run("import_crews", CREWS, "--company", "North")
    printed = run("import_crews", CREWS, "--company", "North", "--zone", "Europe/Dublin")
    assert "the zone of 'North' is Europe/Dublin from now on" in printed
    assert Company.objects.get(name="North").zone == "Europe/Dublin"


def test_settings_that_a_command_changes_are_in_the_history_and_count_as_a_change(run: Run) -> None:
    """What is kept of a company's answers goes by its version; holidays are of its country."""
    company = make_company("North")
    Company.objects.update(country="IE", zone="UTC")
    run("import_houses", HOUSES, "--zone", "Europe/Paris", "--country", "fr")
    changed = Company.objects.get(pk=company.pk)
    assert (changed.zone, changed.country, changed.version) == ("Europe/Paris", "FR", 2)
    assert Holiday.objects.filter(company=company, day__month=7, day__day=14).count() == 2
    logged = Change.objects.get(what="settings")
    assert logged.fields == {"zone": ["UTC", "Europe/Paris"], "country": ["IE", "FR"]}


@pytest.mark.parametrize(
    ("command", "content", "edits"),
    [
        ("import_crews", CREWS, {("crew", "North"), ("member", "North, Ann")}),
        ("import_houses", HOUSES, {("house", "")}),
        (
            "import_site",
            "house,what,item,done\nMill Cottage,ready,heat,no\n",
            {("readiness", "heat")},
        ),
        ("import_dryers", "name,kind,litres_per_day\nBig,dehumidifier,40\n", {("dryer", "Big")}),
        ("import_packs", "name,kind,packs\nTape,paper_tape,75\n", {("supply", "Tape")}),
    ],
)
def test_what_a_file_changes_is_in_the_history_of_house_or_company(
    run: Run, command: str, content: str, edits: set[tuple[str, str]]
) -> None:
    make_house(make_company("North"))
    run(command, content)
    found = Change.objects.filter(by=None).values_list("what", "place")
    assert edits <= {*found}
    logged = len(found)
    run(command, content)
    assert Change.objects.count() == logged
