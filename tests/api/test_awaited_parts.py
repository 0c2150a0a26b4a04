"""Parts of pages that a worker works out: the page's script comes again for them."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import Settings

from scheduling import tasks
from tests.api.conftest import SignIn
from tests.plans import published_from
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_page_comes_again_for_what_a_worker_finds(
    sign_in: SignIn, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = published_site(sign_in)
    settings.ANSWERS_BY_WORKERS = True
    sent: list[tuple[int, str]] = []
    monkeypatch.setattr(tasks.find_answer, "delay", lambda *what: sent.append(what))
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=1))
    by_script = {"HX-Request": "true"}
    for address in ("/fit/", "/odds/", "/runs/changed/", "/air/now/"):
        waiting = client.get(address, headers=by_script)
        assert (waiting.status_code, waiting.content) == (204, b""), address
        tasks.find_answer(*sent[-1])
        assert client.get(address, headers=by_script).status_code == 200, address
    assert len(sent) == 4


def test_whoever_has_no_scripts_waits_for_the_answer(
    sign_in: SignIn, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = published_site(sign_in)
    settings.ANSWERS_BY_WORKERS = True
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=1))
    answer = client.get("/fit/")
    assert answer.status_code == 200
    assert "Does the plan still fit?" in answer.content.decode()


def published_site(sign_in: SignIn) -> Client:
    company, _ = make_site()
    published_from(company, MONDAY)
    return sign_in(company)
