"""What the README's section on security says of settings and limits, held against the code."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from api.rest import parsers
from api.web import crew_access
from finishing.services import file_imports, web_answers
from scheduling.services import photos

ROOT = Path(__file__).parents[1]
ASKED = (
    "SESSION_COOKIE_SECURE",
    "CSRF_COOKIE_SECURE",
    "CSRF_TRUSTED_ORIGINS",
    "SECURE_HSTS_SECONDS",
)
OUTGOING = {
    "finishing/services/forecasts.py",  # the address is FORECAST_URL, from the environment
    "finishing/services/web_answers.py",  # reads what the others are answered
    "scheduling/outgoing/webhook.py",  # held to WEBHOOK_HOSTS, from the environment
    "scheduling/outgoing/calendar.py",  # held to CALDAV_HOSTS, from the environment
}
"""What asks another host, and by whose word."""


@pytest.mark.parametrize(
    ("site", "secure"), [("https://plans.example", True), ("http://127.0.0.1:8000", False)]
)
def test_cookies_are_for_tls_alone_where_the_site_has_it(
    site: str, secure: bool, tmp_path: Path
) -> None:
    said = (
        "import json; from finishing.config import settings as said;"
        f"print(json.dumps([getattr(said, name) for name in {ASKED}]))"
    )
    environment = {
        "COATWEAVE_VAR": str(tmp_path),
        "COATWEAVE_SITE_URL": site,
        "COATWEAVE_HSTS_SECONDS": "3600",
    }
    done = subprocess.run(
        [sys.executable, "-c", said], env=environment, cwd=ROOT, capture_output=True, check=True
    )
    assert json.loads(done.stdout) == [secure, secure, [site] if secure else [], 3600]


@pytest.mark.parametrize("weak", ["elevenchars", "password12345", "384756102938"])
def test_weak_passwords_are_refused(weak: str) -> None:
    with pytest.raises(ValidationError):
        validate_password(weak)
    validate_password("dust sheets and ladders")


def test_the_limits_in_the_readme_are_those_of_the_code() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    fields = settings.DATA_UPLOAD_MAX_NUMBER_FIELDS
    for said in (
        f"{fields:,} fields and {settings.DATA_UPLOAD_MAX_MEMORY_SIZE / 2**20:g} MB",
        f"| an imported file | {file_imports.MOST_BYTES / 1e6:g} MB |",
        f"{crew_access.MOST_BYTES // 2**20} MB, the photo {photos.MOST_BYTES // 2**20} MB",
        f"| a request to the API | {parsers.MOST_BYTES / 1e6:g} MB |",
        f"| a report over the API, with its photo | {parsers.MOST_BYTES_OF_A_REPORT / 1e6:g} MB |",
        f"| a forecast's answer | {web_answers.MOST_BYTES / 1e6:g} MB |",
    ):
        assert said in text


def test_no_other_host_is_asked_on_a_users_word() -> None:
    """Whatever asks another host is listed with whose word it goes by: none by a user's alone."""
    asks = re.compile(
        r"^\s*(?:import|from) (?:httpx|requests|urllib\.request|caldav|http\.client)\b", re.M
    )
    found = {
        str(path.relative_to(ROOT))
        for folder in ("finishing", "scheduling", "api")
        for path in (ROOT / folder).rglob("*.py")
        if asks.search(path.read_text(encoding="utf-8"))
    }
    assert found <= OUTGOING
    assert "finishing/services/forecasts.py" in found
