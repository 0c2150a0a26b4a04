"""Editing a house in a real browser: on a phone and a laptop, with and without scripts."""

import pytest
from django.utils import timezone
from playwright.sync_api import Page, sync_playwright
from pytest_django.live_server_helper import LiveServer

from finishing.models import Change, House, ReadinessLine, Role, User
from tests.api.test_pages_in_a_browser import EMAIL, PASSWORD, browser_page, overflow_px, sign_in
from tests.browsers import launch
from tests.sites import make_site

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PAGES = ("", "site/", "done/", "copy/", "history/")


@pytest.fixture
def house(transactional_db: None) -> House:
    company, house = make_site(rooms=("Hall", "Thornwatermeadowbridgehollowfieldsidebarn"))
    ReadinessLine.objects.create(company=company, house=house, item="way_in", owed_by="Builder")
    Change.objects.create(
        company=company,
        house=house,
        at=timezone.now(),
        kind="changed",
        what="house",
        fields={"address": [None, "Thornwatermeadowbridgehollowfieldsidebarn" * 4]},
    )
    User.objects.create_user(EMAIL, PASSWORD, company=company, role=Role.OWNER)
    return house


def at(live_server: LiveServer, house: House, page: str = "") -> str:
    return f"{live_server.url}/houses/{house.public_id}/{page}"


def tap(page: Page) -> None:
    page.get_by_role("button", name="Way in").click()


def test_a_tap_changes_the_list_in_place_and_the_next_undoes_it(
    house: House, live_server: LiveServer
) -> None:
    complaints: list[str] = []
    with browser_page(360) as page:
        page.on("console", lambda message: complaints.append(message.text))
        sign_in(page, live_server.url)
        page.goto(at(live_server, house))
        tap(page)
        page.locator("#tick-way_in[aria-pressed=true]").wait_for()
        focused = page.evaluate("document.activeElement.id")
        tap(page)
        page.locator("#tick-way_in[aria-pressed=false]").wait_for()
    assert complaints == []
    assert focused == "tick-way_in"
    assert ReadinessLine.objects.get().version == 3


def test_without_scripts_a_tap_leads_back_to_the_list(
    house: House, live_server: LiveServer
) -> None:
    with sync_playwright() as playwright:
        chromium = launch(playwright)
        page = chromium.new_page(java_script_enabled=False)
        sign_in(page, live_server.url)
        page.goto(at(live_server, house))
        tap(page)
        page.wait_for_url(at(live_server, house) + "#readiness")
        pressed = page.locator("#tick-way_in").get_attribute("aria-pressed")
        chromium.close()
    assert pressed == "true"


@pytest.mark.parametrize("width_px", [360, 768, 1440])
def test_no_page_that_edits_a_house_is_wider_than_the_window(
    house: House, live_server: LiveServer, width_px: int
) -> None:
    with browser_page(width_px) as page:
        sign_in(page, live_server.url)
        too_wide = {}
        for name in PAGES:
            page.goto(at(live_server, house, name))
            too_wide[name] = overflow_px(page)
    assert too_wide == dict.fromkeys(PAGES, 0)


def test_a_caution_comes_with_the_tick_that_asks_for_it(
    house: House, live_server: LiveServer
) -> None:
    with browser_page(1440) as page:
        sign_in(page, live_server.url)
        page.goto(at(live_server, house, "site/"))
        caution = page.get_by_text("carbon monoxide")
        before = caution.is_visible()
        page.get_by_label("A heater burns gas or oil inside").check()
        after = caution.is_visible()
    assert (before, after) == (False, True)
