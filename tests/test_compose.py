"""docker-compose.yml: what it says is what the Compose Specification knows, and what runs here.

No container is started. The form is held against the package compose-spec, which reads what the
specification (compose-spec.io) allows and nothing else.
"""

import json
import os
import re
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml
from celery.bin.base import CLIContext
from celery.bin.celery import celery as celery_command
from compose_spec import PyCompose
from django.conf import settings
from django.core.management import load_command_class

from finishing.config.celery import app
from finishing.config.environment import read_environment
from tests.finishing.config.production import PRODUCTION, a_key

FILE = settings.BASE_DIR / "docker-compose.yml"
TEXT = FILE.read_text(encoding="utf-8")
COMPOSE: dict[str, Any] = yaml.safe_load(TEXT)
SERVICES: Mapping[str, dict[str, Any]] = COMPOSE["services"]
OURS = {name: one for name, one in SERVICES.items() if one["image"] == "coatweave"}
EXAMPLE = dict(
    line.split("=", 1)
    for line in (settings.BASE_DIR / ".env.example").read_text(encoding="utf-8").splitlines()
    if re.match(r"COATWEAVE_\w+=", line)
)


def held_to_the_specification(compose: object) -> None:
    """Raise ValueError for what it does not know; merged keys (YAML's <<) are resolved before."""
    PyCompose.from_json(json.dumps(compose)).validate()


def test_the_file_is_what_the_specification_says() -> None:
    held_to_the_specification(COMPOSE)


@pytest.mark.parametrize(
    "wrong",
    [
        {"helthcheck": {}},
        {"healthcheck": {"tset": []}},
        {"secrets": ["none"]},
        {"depends_on": {"web": {"condition": "well"}}},
    ],
    ids=str,
)
def test_what_the_specification_does_not_know_is_found(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"does not start with|not defined|unknown variant"):
        held_to_the_specification({"services": {"web": {"image": "x", **wrong}}})


def test_the_services_are_those_of_a_site() -> None:
    assert SERVICES.keys() == {
        "database", "redis", "migrate", "web", "planning", "air", "clock",
    }  # fmt: skip
    assert OURS.keys() == {"migrate", "web", "planning", "air", "clock"}


@pytest.mark.parametrize("name", SERVICES)
def test_nobody_is_root_nor_writes_but_where_it_must(name: str) -> None:
    service = SERVICES[name]
    user, group = service["user"].split(":")
    assert int(user) > 0 < int(group)
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert "privileged" not in service


def test_all_but_what_ends_are_asked_for_their_health() -> None:
    assert {name for name, one in SERVICES.items() if "healthcheck" not in one} == {"migrate"}
    for name, one in OURS.items():
        waits = {other: how["condition"] for other, how in one["depends_on"].items()}
        assert waits["database"] == "service_healthy"
        if name != "migrate":
            assert waits["migrate"] == "service_completed_successfully"


def test_only_the_pages_have_a_port_and_only_on_this_machine() -> None:
    ports = {name: one["ports"] for name, one in SERVICES.items() if "ports" in one}
    assert ports == {"web": ["127.0.0.1:8000:8000"]}


def test_folders_and_secrets_that_are_used_are_there() -> None:
    for one in SERVICES.values():
        assert set(one.get("secrets", [])) <= COMPOSE["secrets"].keys()
        kept = {volume.partition(":")[0] for volume in one.get("volumes", [])}
        assert kept <= COMPOSE["volumes"].keys()


def test_the_settings_are_ones_that_are_taken(tmp_path: Path) -> None:
    given = EXAMPLE | {name: _filled(value) for name, value in _environment("web").items()}
    for number, name in enumerate(COMPOSE["secrets"]):
        (tmp_path / name).write_text(a_key(number), encoding="utf-8")
    given = {name: value.replace("/run/secrets", str(tmp_path)) for name, value in given.items()}
    found = read_environment(given, base_dir=tmp_path)
    assert found.web.public_host == EXAMPLE["COATWEAVE_HOSTS"]
    assert (found.database["HOST"], found.database["PASSWORD"]) == ("database", a_key(3))
    assert found.broker_url == "redis://redis:6379/0"


def _environment(service: str) -> dict[str, str]:
    return {
        name: value
        for name, value in SERVICES[service]["environment"].items()
        if name.startswith("COATWEAVE_")
    }


def _filled(value: str) -> str:
    """Return what Compose makes of a value with a default in it, where nothing is set."""
    return re.sub(r"\$\{\w+:-([^}]*)\}", r"\1", value)


def test_the_workers_take_all_queues() -> None:
    taken = [
        queue
        for name in ("planning", "air")
        for queue in _option(SERVICES[name]["command"], "--queues").split(",")
    ]
    assert sorted(taken) == sorted(app.amqp.queues)


def _option(command: list[str], name: str) -> str:
    return command[command.index(name) + 1]


@pytest.mark.parametrize("service", ["planning", "air", "clock"])
def test_celery_takes_the_command_lines(service: str) -> None:
    program, *words = SERVICES[service]["command"]
    assert program == "celery"
    assert words[:2] == ["--app", "finishing.config.celery"]
    whole = celery_command.make_context("celery", list(words))
    whole.obj = CLIContext(app=app, no_color=True, workdir=None)
    name, command, rest = celery_command.resolve_command(whole, words[2:])
    assert command is not None
    assert command.make_context(name, rest, parent=whole).params["loglevel"]


def test_gunicorn_takes_its_command_line() -> None:
    program, *words = SERVICES["web"]["command"]
    done = subprocess.run(
        [sys.executable, "-m", program, "--check-config", *words],
        cwd=settings.BASE_DIR,
        env=os.environ | PRODUCTION,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")


def test_migrations_take_theirs() -> None:
    program, file, name, *words = SERVICES["migrate"]["command"]
    assert (program, file) == ("python", "manage.py")
    command = load_command_class("django.core", name)
    assert command.create_parser(file, name).parse_args(words).interactive is False


def test_the_image_is_made_from_what_is_there() -> None:
    recipe = COMPOSE["x-coatweave"]["build"]["dockerfile_inline"]
    copied = [
        name
        for line in re.findall(r"^COPY (.+)$", recipe, re.MULTILINE)
        for name in line.split()[:-1]
    ]
    assert {"manage.py", "finishing", "scheduling", "api", "pyproject.toml"} <= set(copied)
    for name in copied:
        assert (settings.BASE_DIR / name).exists(), name
