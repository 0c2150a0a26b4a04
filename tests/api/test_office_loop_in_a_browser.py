"""The office's whole loop with no mouse: from an empty company to what a crew reads."""

from pathlib import Path

import pytest
from django.test import Client
from playwright.sync_api import Page
from pytest_django.live_server_helper import LiveServer

from finishing.models import Role, User
from finishing.services.companies import start_company
from scheduling.models import CompanyPlans, PlanRun, Publication
from scheduling.services.links import page_address
from scheduling.services.replan import run_replan
from tests.api.test_pages_in_a_browser import EMAIL, PASSWORD, browser_page
from tests.factories import ZONE

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    # Connections of the live server's request threads are left to the collector, which may come by
    # while the browser's loop runs.
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]
MOST_TABS = 120


def focused(page: Page) -> str:
    """Return what has the keyboard's focus, as a reader's ear would have it."""
    said = page.evaluate(
        "(() => { const one = document.activeElement; const label = one.labels?.[0]; "
        "return label?.innerText || one.getAttribute('aria-label') || one.innerText || ''; })()"
    )
    return str(said).strip()


def focus_is_seen(page: Page) -> bool:
    return bool(
        page.evaluate(
            "(() => { const look = getComputedStyle(document.activeElement); "
            "return look.outlineStyle !== 'none' && parseFloat(look.outlineWidth) >= 2; })()"
        )
    )


def tab_to(page: Page, words: str) -> None:
    """Press Tab until what is called so has the focus, which must be seen."""
    passed = []
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        passed.append(focused(page).rstrip(":"))
        if passed[-1] == words:
            assert focus_is_seen(page), words
            return
    raise AssertionError(f"no Tab leads to {words!r} on {page.url}, but to {passed}")


def press(page: Page, words: str) -> None:
    """Go to a link or button by Tab and press Enter; wait for the page that it leads to."""
    tab_to(page, words)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def bring_in(page: Page, site: str, kind: str, example: Path) -> None:
    """Import a file: keys lead to its field, from where on the browser's own dialog chooses it."""
    page.goto(f"{site}/company/import/{kind}/")
    tab_to(page, "The file")
    page.locator("input[type=file]:focus").set_input_files(example)
    press(page, "Check the file")
    press(page, "Import")
    page.get_by_role("status").get_by_text("Imported").wait_for()


@pytest.fixture
def examples(transactional_db: None, tmp_path: Path) -> dict[str, Path]:
    """The example files that the office can download, and the user who will bring them in."""
    company = start_company(name="My company", zone=ZONE)
    client = Client()
    client.force_login(User.objects.create_user(EMAIL, PASSWORD, company=company, role=Role.OWNER))
    files = {kind: tmp_path / f"{kind}.csv" for kind in ("crews", "houses", "air")}
    for kind, path in files.items():
        path.write_bytes(client.get(f"/company/import/{kind}/example/").content)
    return files


def sign_in_by_keys(page: Page, site: str) -> None:
    page.goto(f"{site}/sign-in/")
    page.locator("input[name=username]:focus").wait_for()
    page.keyboard.type(EMAIL)
    page.keyboard.press("Tab")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(f"{site}/")


def test_from_import_to_publish_by_keyboard_alone(
    live_server: LiveServer, examples: dict[str, Path], started: list[int]
) -> None:
    """Rows are read only while no browser is open: its loop gives them another connection."""
    site = live_server.url
    with browser_page(1440) as page:
        sign_in_by_keys(page, site)
        page.keyboard.press("Tab")
        assert focused(page) == "Skip to the content"
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "main"
        for kind, path in examples.items():
            bring_in(page, site, kind, path)
        page.goto(f"{site}/")
        press(page, "Planning")
        press(page, "Plan again")
        page.get_by_text("Waiting to begin").wait_for()
        run_page = page.url
    PlanRun.objects.filter(pk=started[0]).update(seconds=0.5)
    run_replan(run_id=started[0])
    with browser_page(1440) as page:
        sign_in_by_keys(page, site)
        page.goto(run_page)
        page.get_by_text("A plan to work on").wait_for()
        press(page, "See it by weeks")
        page.get_by_role("heading", name="Week").first.wait_for()
        press(page, "Planning")
        press(page, "See what crews would be told")
        press(page, "Publish to the crews")
        page.get_by_text("Published").first.wait_for()
    assert Publication.objects.count() == 1
    plans = CompanyPlans.objects.get()
    assert plans.published == plans.working
    assert plans.published
    visit = plans.published.tasks.order_by("starts_at")[0]
    address = "/" + page_address(visit.crew.page).split("/", 3)[3]
    house = visit.house.name
    with browser_page(360) as phone:
        phone.goto(f"{site}{address}{visit.starts_at:%Y-%m-%d}/")
        phone.get_by_role("heading", name=house).first.wait_for()
        phone.locator("#kept[data-ready]").wait_for(state="attached")  # no request is cut off
