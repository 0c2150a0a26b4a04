"""Sheets for paper, printed by Chromium on A4 and Letter: nothing is cut."""

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from unicodedata import normalize

import pytest
from playwright.sync_api import Page, sync_playwright
from pypdf import PdfReader
from pytest_django.live_server_helper import LiveServer

from finishing.models import Company, ReadinessLine, Role, User
from scheduling.services.publish import publish_plan
from tests.api.busy_company import make_busy_company
from tests.browsers import launch
from tests.factories import local

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
EMAIL, PASSWORD = "office@example.com", "long enough words"
MONDAY = date(2026, 3, 2)
HOURS = re.compile(r"\d\d:\d\d - \d\d:\d\d")
LAST_WORDS = "not dry yet"
WIDTHS_PT = {"A4": 595.28, "Letter": 612.0}
"""ISO 216; ANSI/ASME Y14.1."""


@pytest.fixture
def company(transactional_db: None) -> Company:
    company = make_busy_company(MONDAY)
    ReadinessLine.objects.update(done=True)
    publish_plan(company=company, now=local("2026-03-01 18:00"))
    User.objects.create_user(EMAIL, PASSWORD, company=company, role=Role.OWNER)
    return company


@pytest.fixture
def page(company: Company, live_server: LiveServer) -> Iterator[Page]:
    with sync_playwright() as playwright:
        chromium = launch(playwright)
        try:
            page = chromium.new_page()
            page.set_default_timeout(10_000)
            page.goto(f"{live_server.url}/sign-in/")
            page.get_by_label("Email").fill(EMAIL)
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Sign in").click()
            page.wait_for_url(f"{live_server.url}/")
            page.goto(f"{live_server.url}/week/{MONDAY}/")
            yield page
        finally:
            chromium.close()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_crews_week_prints_with_no_visit_in_two(page: Page, paper: str, tmp_path: Path) -> None:
    page.get_by_role("link", name="Sheet for paper: North crew").click()
    page.get_by_role("heading", name="North crew").wait_for()
    assert page.locator(".stop").count() == 10, "two visits a day from Monday to Friday"
    sheets = printed(page, paper, tmp_path)
    for sheet in sheets:
        assert sheet.count(LAST_WORDS) == len(HOURS.findall(sheet)), (
            "each visit ends, with its boxes, on the sheet on which it begins"
        )
    assert sum(sheet.count(LAST_WORDS) for sheet in sheets) == 10
    assert "Sign out" not in sheets[0]
    assert "Print this page" not in sheets[0]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_houses_handover_prints_with_room_to_sign(page: Page, paper: str, tmp_path: Path) -> None:
    page.get_by_role("main").get_by_role("link", name="Mill Cottage").last.click()
    page.get_by_role("link", name="Handover sheet for paper").click()
    page.get_by_role("heading", name="Handover of Mill Cottage").wait_for()
    sheets = printed(page, paper, tmp_path)
    whole = " ".join(sheets)
    for said in ("Kitchen and dining room, walls", "Remarks", "Taken over by"):
        assert said in whole
    signed = [sheet for sheet in sheets if "Handed over by" in sheet]
    assert len(signed) == 1
    assert "Day and hour" in signed[0], "the signatures stay together"


def printed(page: Page, paper: str, folder: Path) -> list[str]:
    """Print a page as the browser does, and return the text of each sheet. Nothing in it is wider
    than what the sheet has between its margins: Chromium would make the whole print smaller."""
    path = folder / f"{paper}.pdf"
    inside_px = round((WIDTHS_PT[paper] / 72 - 2 * 14 / 25.4) * 96)
    page.set_viewport_size({"width": inside_px, "height": 900})
    page.emulate_media(media="print")
    root = "document.documentElement"
    assert page.evaluate(f"{root}.scrollWidth - {root}.clientWidth") == 0
    page.pdf(path=path, format=paper)
    pages = PdfReader(path).pages
    for sheet in pages:
        assert float(sheet.mediabox.width) == pytest.approx(WIDTHS_PT[paper], abs=1)
    texts = [normalize("NFKC", sheet.extract_text()) for sheet in pages]  # fonts join f and l
    return [" ".join(text.split()) for text in texts]
