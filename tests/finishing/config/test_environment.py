"""What the environment sets, as a whole: what is taken, and what a start ends with."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from finishing.config.environment import Environment, read_environment
from tests.finishing.config.production import PRODUCTION, a_key

WEAK = "COATWEAVE_SECRET_KEY is weak: it needs 50 characters, 10 of them different"


def read(given: dict[str, str], tmp_path: Path) -> Environment:
    return read_environment(given, base_dir=tmp_path)


def started(*arguments: str, **given: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=settings.BASE_DIR,
        env=os.environ | given,
        capture_output=True,
        text=True,
        check=False,
    )


def test_nothing_set_is_this_machine_alone_with_keys_of_its_own(tmp_path: Path) -> None:
    found, again = read({}, tmp_path), read({}, tmp_path)
    assert found == again
    assert found.web.hosts == ("127.0.0.1", "localhost", "[::1]")
    assert len({found.keys.secret, found.keys.link, found.keys.seal}) == 3
    for name in ("secret_key", "link_key", "seal_key"):
        assert (tmp_path / "var" / name).stat().st_mode & 0o777 == 0o600


def test_production(tmp_path: Path) -> None:
    found = read(PRODUCTION, tmp_path)
    assert found.web.public_host == "plan.example"
    assert found.database["PASSWORD"] == "hidden"
    assert not list(tmp_path.iterdir()), "nothing is made that was given"


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"SECRET_KEY": ""}, "COATWEAVE_SECRET_KEY is missing: others reach this installation"),
        ({"SECRET_KEY": "change-me"}, WEAK),
        ({"SECRET_KEY": "ab" * 40}, WEAK),
        ({"SECRET_KEY": a_key(2)}, "COATWEAVE_SECRET_KEY is the same as another key"),
        ({"DEBUG": "1"}, "COATWEAVE_DEBUG is on, and COATWEAVE_HOSTS names 'plan.example'"),
        ({"HOSTS": "*", "DEBUG": "1"}, r"COATWEAVE_DEBUG is on, and COATWEAVE_HOSTS names '\*'"),
        ({"SITE_URL": "plan.example"}, "COATWEAVE_SITE_URL: 'plan.example' is not an address"),
        ({"SITE_URL": "https://[plan"}, r"COATWEAVE_SITE_URL: 'https://\[plan' is not an address"),
        ({"HOSTS": "plan.example:8000"}, "COATWEAVE_HOSTS: 'plan.example:8000' is not the name of"),
        ({"HOSTS": "https://plan.example"}, "COATWEAVE_HOSTS: 'https://plan.example' is not the"),
        ({"DEBUG": "on"}, "COATWEAVE_DEBUG: 'on' is neither 1 nor 0"),
        ({"CACHE_URL": "redis:6379/1"}, "COATWEAVE_CACHE_URL is not an address that begins with"),
        (
            {"CELERY_BROKER_URL": "redis://:hidden@redis:port/0"},
            "COATWEAVE_CELERY_BROKER_URL is not an address that begins with redis:// or rediss://$",
        ),
        ({"FORECAST_URL": "http://air.example"}, "COATWEAVE_FORECAST_URL is not an address that"),
        ({"CALDAV_CA_FILE": "/none.pem"}, "COATWEAVE_CALDAV_CA_FILE: '/none.pem' is not a file"),
        ({"CALDAV_CA_FILE": "a" * 5000}, "COATWEAVE_CALDAV_CA_FILE: 'a{200}' is not a file"),
    ],
)
def test_what_no_public_installation_starts_with(
    changed: dict[str, str], said: str, tmp_path: Path
) -> None:
    given = PRODUCTION | {f"COATWEAVE_{name}": value for name, value in changed.items()}
    with pytest.raises(SystemExit, match=rf"^{said}"):
        read(given, tmp_path)


def test_all_that_is_wrong_is_said_at_once_and_no_key_is_made(tmp_path: Path) -> None:
    given = {"COATWEAVE_FORECAST_MINUTES": "a", "COATWEAVE_MAIL_PORT": "b"}
    with pytest.raises(SystemExit) as ended:
        read(given, tmp_path)
    assert [part.partition(":")[0] for part in str(ended.value).split("; ")] == [
        "COATWEAVE_MAIL_PORT",
        "COATWEAVE_FORECAST_MINUTES",
    ]
    assert not list(tmp_path.iterdir())


def test_keys_that_cannot_be_kept_are_a_fault(tmp_path: Path) -> None:
    (tmp_path / "var").write_text("a file where the folder should be", encoding="utf-8")
    with pytest.raises(SystemExit, match=r"^COATWEAVE_VAR: no keys can be kept in '.*var': "):
        read({}, tmp_path)


@pytest.mark.parametrize("host", ["*", ".plan.example", "plan.example", "PLAN-2", "[2001:db8::1]"])
def test_hosts_as_they_may_be_named(host: str, tmp_path: Path) -> None:
    """As Django's documentation has them ("ALLOWED_HOSTS")."""
    assert host in read({**PRODUCTION, "COATWEAVE_HOSTS": host}, tmp_path).web.hosts


def test_a_command_says_so_in_one_line() -> None:
    done = started("manage.py", "check", COATWEAVE_FORECAST_MINUTES="abc")
    said = "COATWEAVE_FORECAST_MINUTES: 'abc' is not a whole number from 0 to 10080\n"
    assert (done.returncode, done.stdout, done.stderr) == (1, "", said)


def test_a_production_environment_is_clean_for_django_too() -> None:
    done = started("manage.py", "check", "--deploy", "--fail-level", "WARNING", **PRODUCTION)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize(
    "start",
    [
        ("manage.py", "migrate"),
        ("-m", "gunicorn", "-c", "python:finishing.config.web_server", "finishing.config.wsgi"),
        ("-m", "celery", "--quiet", "--app", "finishing.config.celery", "worker"),
    ],
    ids=["command", "web", "worker"],
)
def test_a_database_that_is_not_there_ends_the_start_with_one_line(start: tuple[str, ...]) -> None:
    done = started(*start, **PRODUCTION)
    *before, last = done.stderr.splitlines()
    assert done.returncode == 1
    assert last.startswith("the database 127.0.0.1:1/coatweave cannot be reached: ")
    assert "Traceback" not in done.stderr
    assert "hidden" not in done.stderr
    assert not [line for line in before if "cannot be reached" in line]
