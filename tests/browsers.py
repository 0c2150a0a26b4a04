"""Debian's Chromium, as every browser test starts it."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import Browser, Page, Playwright, sync_playwright

PROGRAM = "/usr/bin/chromium"
ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run")


def launch(playwright: Playwright) -> Browser:
    return playwright.chromium.launch(executable_path=PROGRAM, args=[*ARGUMENTS])


@contextmanager
def open_browser() -> Iterator[Browser]:
    """Open a browser after the rows are made: its loop bars the ORM from the tests' thread."""
    with sync_playwright() as playwright:
        chromium = launch(playwright)
        try:
            yield chromium
        finally:
            chromium.close()


@contextmanager
def new_page(browser: Browser, width_px: int, **options: Any) -> Iterator[Page]:
    """Open a page that knows nothing of any other; options: of the browser's context."""
    window = browser.new_context(viewport={"width": width_px, "height": 800}, **options)
    window.set_default_timeout(10_000)
    try:
        yield window.new_page()
    finally:
        window.close()


def overflow_px(page: Page) -> int:
    """Return by how much the page is wider than the window."""
    root = "document.documentElement"
    return int(page.evaluate(f"{root}.scrollWidth - {root}.clientWidth"))
