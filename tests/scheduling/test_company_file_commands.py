"""The commands that write a company into a file and read it again."""

from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from finishing.models import Company, Crew
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db


def test_written_and_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "larch.json"
    make_crew(make_company("Larch Finishing"), "North crew")
    make_company("Other")
    call_command("export_company", file, company="Larch Finishing")
    assert "Larch Finishing: " in capsys.readouterr().out
    assert file.stat().st_mode & 0o777 == 0o600
    Company.objects.filter(name="Larch Finishing").delete()
    call_command("import_company", file)
    assert "Larch Finishing: imported" in capsys.readouterr().out
    assert Crew.objects.get(name="North crew").company.name == "Larch Finishing"


def test_what_is_there_is_not_overwritten(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "larch.json"
    make_company("Larch Finishing")
    call_command("export_company", file)
    before = file.read_bytes()
    with pytest.raises(CommandError, match=r"larch\.json: File exists"):
        call_command("export_company", file)
    assert file.read_bytes() == before
    with pytest.raises(CommandError, match="2 faults: nothing was imported"):
        call_command("import_company", file)
    assert capsys.readouterr().err.splitlines() == [
        "finishing.Company 1: is in this database already",
        "finishing.Company 1, name: 'Larch Finishing' is taken",
    ]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"none\.json: No such file"):
        call_command("import_company", tmp_path / "none.json")
    make_company("Larch Finishing")
    with pytest.raises(CommandError, match=r"no such/larch\.json: No such file"):
        call_command("export_company", tmp_path / "no such" / "larch.json")
