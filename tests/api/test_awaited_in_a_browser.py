"""The start page in Chromium, where a thread finds what takes a moment: its script comes again,
and without scripts the part's own page does."""

from datetime import timedelta
from threading import Event
from typing import Any

import pytest
from django.core.cache import cache
from django.utils import timezone
from playwright.sync_api import Response
from pytest_django.live_server_helper import LiveServer

from finishing.models import Compound, House
from scheduling import jobs
from scheduling.one_thread import OneThread
from scheduling.services.kept_answers import Of
from tests.api.conftest import SignIn
from tests.browsers import new_page, open_browser
from tests.plans import published_from
from tests.sites import MONDAY, make_site

LONG_ENOUGH_S = 60
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> Event:
    """What nothing is found before: whoever waits for it has been seen to."""
    looked = Event()

    def find(asked: tuple[int, str, Of]) -> None:
        assert looked.wait(LONG_ENOUGH_S)
        jobs.find_answer(asked)

    cache.clear()
    monkeypatch.setattr(jobs, "ANSWERS", OneThread(find))
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=1))
    return looked


def session_of_published_site(sign_in: SignIn) -> Any:
    company, _ = make_site()
    published_from(company, MONDAY)
    return {"name": "sessionid", "value": sign_in(company).cookies["sessionid"].value}


def test_parts_come_into_the_page_once_they_are_found(
    sign_in: SignIn, live_server: LiveServer, looked: Event
) -> None:
    cookie = session_of_published_site(sign_in)
    statuses: list[int] = []

    def note(answer: Response) -> None:
        if "/fit/" in answer.url:
            statuses.append(answer.status)
            looked.set()

    with open_browser() as browser, new_page(browser, 1440) as page:
        page.context.add_cookies([{**cookie, "url": live_server.url}])  # type: ignore[typeddict-item]
        page.on("response", note)
        page.goto(live_server.url)
        page.get_by_text("See which visits come too early").wait_for(state="detached")
        assert page.locator("#fit").count() == 0
        assert page.get_by_role("heading", name="Does the plan still fit?").count() <= 1
    assert (statuses[0], statuses[-1]) == (204, 200)


def test_how_a_house_dries_comes_once_it_is_found_for_who_has_got_there(
    sign_in: SignIn, live_server: LiveServer, looked: Event
) -> None:
    cookie = session_of_published_site(sign_in)
    address = f"{live_server.url}/houses/{House.objects.get().public_id}/"
    statuses: list[int] = []

    def note(answer: Response) -> None:
        if answer.url == f"{address}air/":
            statuses.append(answer.status)
            looked.set()

    with open_browser() as browser, new_page(browser, 360) as page:
        page.context.add_cookies([{**cookie, "url": live_server.url}])  # type: ignore[typeddict-item]
        page.on("response", note)
        page.goto(address)
        page.locator("#curves").scroll_into_view_if_needed()
        page.locator("#curves figure").first.wait_for()
    assert (statuses[0], statuses[-1], statuses.count(200)) == (204, 200, 1)


def test_a_week_is_shown_again_once_it_is_known_which_material_comes_late(
    sign_in: SignIn, live_server: LiveServer, looked: Event
) -> None:
    cookie = session_of_published_site(sign_in)
    Compound.objects.update(lead_days=9, pack_kg=[20.0])
    with open_browser() as browser, new_page(browser, 1440) as page:
        page.context.add_cookies([{**cookie, "url": live_server.url}])  # type: ignore[typeddict-item]
        page.goto(f"{live_server.url}/week/?crews=all")
        page.get_by_text(
            "It is being worked out which visits come before their material"
        ).wait_for()
        looked.set()
        page.get_by_text("(there on").first.wait_for(state="attached")
        assert page.get_by_text("being worked out").count() == 0
        assert page.url.endswith("/week/?crews=all")


def test_a_page_without_scripts_comes_again_by_itself(
    sign_in: SignIn, live_server: LiveServer, looked: Event
) -> None:
    cookie = session_of_published_site(sign_in)
    with open_browser() as browser, new_page(browser, 360, java_script_enabled=False) as page:
        page.context.add_cookies([{**cookie, "url": live_server.url}])  # type: ignore[typeddict-item]
        page.goto(f"{live_server.url}/odds/")
        page.get_by_text("This is being worked out").wait_for()
        looked.set()
        page.get_by_role("heading", name="What the air may still do").wait_for()
