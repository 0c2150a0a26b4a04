"""The charts of a house in a real browser: on a phone and a laptop, with and without scripts."""

import pytest
from django.utils import timezone
from playwright.sync_api import Page, sync_playwright
from pytest_django.live_server_helper import LiveServer

from finishing.models import House, Role, User
from tests.api.test_pages_in_a_browser import EMAIL, PASSWORD, browser_page, overflow_px, sign_in
from tests.browsers import launch
from tests.plans import plan_from
from tests.sites import make_site

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def house(transactional_db: None) -> House:
    """A house of rooms with long names, planned from now on in assumed air."""
    company, house = make_site(
        rooms=("Hall", "Kitchen and dining room", "Thornwatermeadowbridgehollowfieldsidebarn"),
        system="All-purpose drying",
    )
    plan_from(company, timezone.now())
    User.objects.create_user(EMAIL, PASSWORD, company=company, role=Role.OWNER)
    return house


def open_all(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")


@pytest.mark.parametrize("width_px", [360, 1440])
def test_charts_come_when_somebody_gets_to_them_and_fit(
    house: House, live_server: LiveServer, width_px: int
) -> None:
    complaints: list[str] = []
    with browser_page(width_px) as page:
        page.on("console", lambda message: complaints.append(message.text))
        sign_in(page, live_server.url)
        page.goto(f"{live_server.url}/houses/{house.public_id}/")
        before = page.locator("svg.chart").count()
        page.locator("#curves").scroll_into_view_if_needed()
        page.get_by_role("img", name="How the coats of Hall dry").wait_for()
        open_all(page)
        after, too_wide = page.locator("svg.chart").count(), overflow_px(page)
        widest = page.locator("svg.chart").evaluate_all(
            "charts => Math.max(...charts.map(chart => chart.getBoundingClientRect().right))"
        )
    assert (before, too_wide) == (0, 0)
    assert after >= 6, "the key, three rooms, temperature and humidity"
    assert widest <= width_px
    assert complaints == [], "the browser refuses nothing, so the content policy fits the charts"


def test_without_scripts_the_link_leads_to_the_charts(
    house: House, live_server: LiveServer
) -> None:
    with sync_playwright() as playwright:
        chromium = launch(playwright)
        page = chromium.new_context(java_script_enabled=False).new_page()
        sign_in(page, live_server.url)
        page.goto(f"{live_server.url}/houses/{house.public_id}/")
        page.get_by_role("link", name="How its coats dry").click()
        page.get_by_role("img", name="How the coats of Hall dry").wait_for()
        page.get_by_text("the coats in figures").click()
        rows = page.get_by_role("rowheader", name="Hall").count()
        chromium.close()
    assert rows == 3, "tape, second and finish coat"
