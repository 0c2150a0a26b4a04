"""The description of the API: valid, whole, and shown by files of this project's own."""

import re
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client

from finishing.models import Role
from tests.api.conftest import SignIn
from tests.factories import make_company

SAFE = {"get", "head", "options"}


def test_the_description_is_valid_and_nothing_of_it_is_guessed(tmp_path: Path) -> None:
    call_command(
        "spectacular", "--validate", "--fail-on-warn", "--file", str(tmp_path / "openapi.yml")
    )


@pytest.mark.django_db
def test_every_operation_says_what_may_go_wrong(sign_in: SignIn) -> None:
    described = sign_in(make_company(), Role.VIEWER).get("/api/v1/schema/").json()
    assert described["openapi"].startswith("3.")
    for path, operations in described["paths"].items():
        for method, operation in operations.items():
            expected = {"401", "403", "404", "406", "422", "429"}
            expected |= set() if method in SAFE else {"400", "409"}
            expected |= {"412", "428"} if method in {"patch", "put", "delete"} else set()
            assert expected <= operation["responses"].keys(), f"{method} {path}"
            names = {one["name"] for one in operation.get("parameters", [])}
            assert ("Idempotency-Key" in names) == (method not in SAFE), f"{method} {path}"
            assert ("If-Match" in names) == (method in {"patch", "put", "delete"})
            assert operation["description"], f"{method} {path}"


@pytest.mark.django_db
def test_nobody_reads_the_description_without_signing_in() -> None:
    assert Client().get("/api/v1/schema/").status_code == 401
    assert Client().get("/api/v1/docs/").status_code == 302


@pytest.mark.django_db
def test_the_page_of_the_description_runs_only_files_of_our_own(sign_in: SignIn) -> None:
    page = sign_in(make_company(), Role.VIEWER).get("/api/v1/docs/")
    said = page.content.decode()
    assert page.status_code == 200
    assert not re.search(r"<style|\sstyle=|<script(?![^>]*\ssrc=)|\son\w+=", said)
    for address in re.findall(r'(?:src|href)="([^"]+)"', said):
        assert address.startswith("/")
        if address.startswith("/static/"):
            file = Client().get(address)
            assert (file.status_code, len(file.getvalue()) > 20) == (200, True)
