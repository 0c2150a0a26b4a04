"""The start page in Chromium, where a worker finds what takes a moment: its script comes again."""

from datetime import timedelta

import pytest
from django.core.cache import cache
from django.utils import timezone
from playwright.sync_api import Response
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

from scheduling import tasks
from tests.api.conftest import SignIn
from tests.browsers import new_page, open_browser
from tests.plans import published_from
from tests.sites import MONDAY, make_site

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_parts_come_into_the_page_once_they_are_found(
    sign_in: SignIn, live_server: LiveServer, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    company, _ = make_site()
    published_from(company, MONDAY)
    client = sign_in(company)
    cache.clear()
    settings.ANSWERS_BY_WORKERS = True
    monkeypatch.setattr(tasks.find_answer, "delay", tasks.find_answer)
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=1))
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value}
    statuses: list[int] = []

    def note(answer: Response) -> None:
        if "/fit/" in answer.url:
            statuses.append(answer.status)

    with open_browser() as browser, new_page(browser, 1440) as page:
        page.context.add_cookies([{**cookie, "url": live_server.url}])  # type: ignore[typeddict-item]
        page.on("response", note)
        page.goto(live_server.url)
        page.get_by_text("See which visits come too early").wait_for(state="detached")
        assert page.locator("#fit").count() == 0
        assert page.get_by_role("heading", name="Does the plan still fit?").count() <= 1
    assert statuses[:2] == [204, 200]
