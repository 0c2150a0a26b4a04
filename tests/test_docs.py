"""README and DEVELOPERS say what is true: commands, files, folders."""

import re
import shlex
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.core.management import call_command, get_commands

from finishing.config.environment import read_environment
from scheduling.models import Visit

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
EXAMPLES = dict(re.findall(r"```csv (\S+)\n(.*?)```", README, re.DOTALL))
OWN_DATA = README.partition("## The same job on your own data")[2].partition("```\n")[0]
CHANGES = README.partition("When things turn out otherwise")[2].partition("```\n")[0]
DATED = {"replan", "publish", "feed", "report", "pin", "unreported"}


def own_data_commands() -> list[list[str]]:
    """Return the README's commands for a user's own data, as arguments of manage.py."""
    lines = re.findall(r"^uv run manage.py (.+)$", OWN_DATA, re.MULTILINE)
    return [line.partition(" > ")[0].replace('"', "").split(" ", 1) for line in lines]


def commands_on_changes() -> list[list[str]]:
    """Return the README's commands for what turns out otherwise, as arguments of manage.py."""
    lines = re.findall(r"^uv run manage.py (.+)$", CHANGES, re.MULTILINE)
    return [shlex.split(line) for line in lines]


def test_every_command_in_the_readme_exists() -> None:
    named = set(re.findall(r"manage\.py (\w+)", README + DEVELOPERS))
    assert named <= get_commands().keys()


class Noted(Mapping[str, str]):
    """An environment in which nothing is set, and which notes what it is asked for."""

    def __init__(self) -> None:
        self.asked: set[str] = set()

    def __getitem__(self, name: str) -> str:
        self.asked.add(name)
        raise KeyError(name)

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 0


def test_the_settings_table_and_example_name_every_setting(tmp_path: Path) -> None:
    noted = Noted()
    read_environment(noted, base_dir=tmp_path)
    secrets = {name for name in noted.asked if f"{name}_FILE" in noted.asked}
    settings = noted.asked - {f"{name}_FILE" for name in secrets}
    table = README.partition("## Settings")[2].partition("\n## ")[0]
    example = (ROOT / ".env.example").read_text(encoding="utf-8")
    assert settings == {
        name
        for row in re.findall(r"^\| (`COATWEAVE.*?) \|", table, re.MULTILINE)
        for name in re.findall(r"COATWEAVE_[A-Z_]+", row)
    }
    assert settings == set(re.findall(r"^(?:# )?(COATWEAVE_[A-Z_]+)=", example, re.MULTILINE))


def test_every_path_in_the_developers_table_exists() -> None:
    table = DEVELOPERS.partition("## Where to change what")[2].partition("\n## ")[0]
    paths = re.findall(r"`((?:finishing|scheduling|api)/[\w./]+)`", table)
    assert len(paths) > 10
    for path in paths:
        assert (ROOT / path).exists(), path


def test_top_level_folders_are_those_of_the_tree() -> None:
    named = set(re.findall(r"^    (\w+)/ ", DEVELOPERS, re.MULTILINE))
    here = {path.name for path in ROOT.iterdir() if path.is_dir() and path.name[0] != "."}
    assert named == here - {"var", "artifacts", "__pycache__"}


def test_pictures_in_the_readme_exist() -> None:
    for picture in re.findall(r"!\[[^]]*\]\(([^)]+)\)", README):
        assert (ROOT / picture).stat().st_size > 10_000


@pytest.mark.django_db(transaction=True)
def test_the_readme_job_on_own_data(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The README's own files through the README's own commands, up to the calendar."""
    monkeypatch.chdir(tmp_path)
    assert EXAMPLES.keys() == {"houses.csv", "site.csv", "crews.csv", "dryers.csv", "air.csv"}
    for name, content in EXAMPLES.items():
        Path(name).write_text(content, encoding="utf-8")
    commands = own_data_commands()
    assert [command[0] for command in commands] == [
        "import_houses", "import_site", "import_crews", "import_dryers", "import_air",
        "replan", "show_plan", "publish", "feed",
    ]  # fmt: skip
    for name, *rest in commands:
        arguments = [rest[0]] if name == "feed" else rest[0].split() if rest else []
        if name == "import_air":
            make_the_example_longer(Path("air.csv"))
        if name == "replan":
            arguments = ["--work", "2"]
        call_command(name, *arguments, *today_for(name))
    printed = capsys.readouterr().out
    assert "Tape coat" in printed
    assert printed.count("BEGIN:VEVENT") == Visit.objects.filter(crew__name="North crew").count()
    assert printed.rstrip().endswith("END:VCALENDAR")
    changes = commands_on_changes()
    assert [command[0] for command in changes] == [
        "report", "absent", "lend", "extra", "pin", "unreported", "replan",
    ]  # fmt: skip
    for name, *rest in changes:
        arguments = ["--work", "2"] if name == "replan" else rest
        call_command(name, *arguments, *today_for(name))
    assert "could not stay" not in capsys.readouterr().out


def today_for(name: str) -> list[str]:
    return ["--today", "2026-03-02"] if name in DATED else []


def make_the_example_longer(air: Path) -> None:
    """The README shows three hours; a plan needs at least a day."""
    lines = air.read_text(encoding="utf-8").splitlines()
    hour = datetime.fromisoformat(lines[-1].partition(",")[0])
    for _ in range(14 * 24):
        hour += timedelta(hours=1)
        lines.append(f"{hour:%Y-%m-%dT%H:%MZ},12.0,80")
    air.write_text("\n".join(lines), encoding="utf-8")
