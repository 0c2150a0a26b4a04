"""The pages in a real browser, from a phone's width to a laptop's."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Locator, Page, sync_playwright
from pytest_django.live_server_helper import LiveServer

from finishing.models import AirSource, Company, Role, User
from scheduling.models import CompanyPlans, PlanRun
from scheduling.services.replan import run_replan
from tests.api.busy_company import make_busy_company
from tests.browsers import launch
from tests.plans import published_from
from tests.sites import make_site, steady_air

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
EMAIL, PASSWORD = "office@example.com", "long enough words"
MONDAY = date(2026, 3, 2)
PAGES = ("/", "/runs/", "/publishing/", "/week/2026-03-02/", "/houses/", "/air/", "house")


@contextmanager
def browser_page(width_px: int) -> Iterator[Page]:
    """A page of Debian's Chromium; opened after the rows are made, since its loop bars the ORM."""
    with sync_playwright() as playwright:
        chromium = launch(playwright)
        try:
            yield _page(chromium, width_px)
        finally:
            chromium.close()


def _page(chromium: Browser, width_px: int) -> Page:
    page = chromium.new_page(viewport={"width": width_px, "height": 800})
    page.set_default_timeout(10_000)
    return page


@pytest.fixture
def company(transactional_db: None) -> Company:
    company = make_busy_company(MONDAY)
    User.objects.create_user(EMAIL, PASSWORD, company=company, role=Role.OWNER)
    return company


def sign_in(page: Page, site: str) -> None:
    page.goto(f"{site}/sign-in/")
    page.get_by_label("Email").fill(EMAIL)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{site}/")


def open_named(page: Page, site: str, name: str) -> None:
    if name == "house":
        page.goto(f"{site}/houses/")
        page.locator(".house h2 a").first.click()
        page.wait_for_url(f"{site}/houses/*-*/")
    else:
        page.goto(site + name)


def overflow_px(page: Page) -> int:
    """Return by how much the page is wider than the window."""
    root = "document.documentElement"
    return int(page.evaluate(f"{root}.scrollWidth - {root}.clientWidth"))


@pytest.mark.parametrize("width_px", [360, 768, 1440])
def test_no_page_scrolls_sideways(
    company: Company, live_server: LiveServer, width_px: int, tmp_path: Path
) -> None:
    complaints: list[str] = []
    with browser_page(width_px) as page:
        page.on("console", lambda message: complaints.append(message.text))
        page.goto(f"{live_server.url}/sign-in/")
        too_wide = {"/sign-in/": overflow_px(page)}
        page.screenshot(path=tmp_path / "sign-in.png")
        sign_in(page, live_server.url)
        for name in PAGES:
            open_named(page, live_server.url, name)
            too_wide[name] = overflow_px(page)
            page.screenshot(
                path=tmp_path / f"{name.strip('/').replace('/', '-')}.png", full_page=True
            )
    assert set(too_wide.values()) == {0}, too_wide
    assert complaints == [], "the browser refuses nothing, so the content policy fits the pages"


def test_a_phone_reads_the_week_day_by_day(company: Company, live_server: LiveServer) -> None:
    with browser_page(360) as page:
        sign_in(page, live_server.url)
        page.goto(f"{live_server.url}/week/{MONDAY}/")
        tops = {}
        for number in range(1, 6):
            heading = page.locator(f"th.day-{number}")
            cells = page.locator(f"td.day-{number}:not(.empty)")
            tops[number] = (_top(heading), [_top(cell) for cell in cells.all()])
    for number, (heading_top, cell_tops) in tops.items():
        assert cell_tops, f"the busy week has work or absences on day {number}"
        assert heading_top < min(cell_tops)
        if number > 1:
            assert max(tops[number - 1][1]) < heading_top, "the day before ends above"


def test_a_laptop_reads_the_week_as_crews_by_days(
    company: Company, live_server: LiveServer
) -> None:
    with browser_page(1440) as page:
        sign_in(page, live_server.url)
        page.goto(f"{live_server.url}/week/{MONDAY}/")
        rows = [_boxes_top(row) for row in page.locator(".week tbody tr").all()]
        lefts = [_left(page.locator(f"th.day-{number}")) for number in range(1, 8)]
    assert len(rows) == 3
    assert all(len(set(tops)) == 1 for tops in rows), "a crew's days stand side by side"
    assert lefts == sorted(lefts)
    assert len(set(lefts)) == 7


def test_the_button_plans_again_and_its_page_follows_until_a_plan_is_accepted(
    live_server: LiveServer, started: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # rows are made while the page is open
    site, _ = make_site()
    today = timezone.now()
    AirSource.objects.all().delete()  # of the Monday that sites are made for
    steady_air(site, temperature_c=18, humidity=0.6, first=today.date() - timedelta(days=14))
    published_from(site, today)
    User.objects.create_user(EMAIL, PASSWORD, company=site, role=Role.OWNER)
    complaints: list[str] = []
    with browser_page(360) as page:
        page.on("console", lambda message: complaints.append(message.text))
        sign_in(page, live_server.url)
        page.get_by_role("link", name="Air", exact=True).click()
        page.get_by_role("button", name="Plan again").click()
        page.get_by_text("Waiting to begin").wait_for()
        run = PlanRun.objects.get(pk=started[0])
        assert page.url == f"{live_server.url}/runs/{run.public_id}/"
        PlanRun.objects.filter(pk=run.pk).update(seconds=0.1)
        run_replan(run_id=run.pk)
        page.get_by_role("button", name="Accept 1").click()
        page.get_by_text("Accepted: this is the working plan.").wait_for()
        too_wide = overflow_px(page)
    assert CompanyPlans.objects.get(company=site).working == run.plans.order_by("pk")[0]
    assert (too_wide, complaints) == (0, [])


def _top(element: Locator) -> float:
    return float(element.evaluate("box => box.getBoundingClientRect().top"))


def _left(element: Locator) -> float:
    return float(element.evaluate("box => box.getBoundingClientRect().left"))


def _boxes_top(row: Locator) -> list[float]:
    return [_top(cell) for cell in row.locator("td").all()]
