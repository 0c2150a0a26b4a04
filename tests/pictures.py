"""Makes the README's pictures from the demo company: ``uv run python -m tests.pictures``."""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.browsers import launch

ROOT = Path(__file__).resolve().parents[1]
PICTURES = ROOT / "fixtures" / "pictures"
PORT = "8765"
SERVER = f"http://127.0.0.1:{PORT}"
DEMO = ["demo", "--today", "2026-10-19", "--work", "300", "--port", PORT]


def main() -> None:
    """Serve the demo on a database of its own and photograph its pages."""
    with tempfile.TemporaryDirectory() as var:
        demo = subprocess.Popen(
            [sys.executable, "manage.py", *DEMO],
            cwd=ROOT,
            env={**os.environ, "COATWEAVE_VAR": var, "PYTHONUNBUFFERED": "1"},
            stdout=subprocess.PIPE,
            text=True,
        )
        try:
            assert demo.stdout
            password = next(
                found[1]
                for line in demo.stdout
                if (found := re.search(r"with the password (\S+)", line))
            )
            photograph(password)
        finally:
            demo.kill()
            demo.wait()


def photograph(password: str) -> None:
    PICTURES.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = launch(playwright)
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        sign_in(page, password)
        page.goto(f"{SERVER}/week/2026-10-19/")
        page.screenshot(path=PICTURES / "week.png")
        page.goto(f"{SERVER}/houses/weeks/2026-10-19/")
        page.screenshot(path=PICTURES / "houses.png")
        of_a_room(page)
        of_proposals(page)
        phone = browser.new_page(viewport={"width": 360, "height": 800})
        phone.goto(crew_page(page))
        phone.screenshot(path=PICTURES / "phone.png")
        browser.close()


def of_a_room(page: Page) -> None:
    """Photograph a room's boards and joints, as they are drawn where its sizes are edited."""
    page.goto(f"{SERVER}/houses/")
    page.get_by_role("link", name="Mill Row terrace").first.click()
    page.get_by_role("link", name="Edit the rooms of Ground floor").click()
    page.get_by_role("link", name="Front room").first.click()
    page.screenshot(path=PICTURES / "room.png")


def of_proposals(page: Page) -> None:
    """Photograph what is proposed after the crews' days have changed."""
    page.goto(f"{SERVER}/runs/")
    page.get_by_role("button", name="Plan again").click()
    page.get_by_role("button", name="Accept 1").wait_for(timeout=120_000)
    page.screenshot(path=PICTURES / "proposals.png")


def crew_page(page: Page) -> str:
    """Return the address of a crew's page, from the message that tells it."""
    page.goto(f"{SERVER}/messages/")
    found = re.search(r"https?://\S+/crew/[^/\s]+/", page.locator("textarea").first.input_value())
    assert found
    return found[0]


def sign_in(page: Page, password: str) -> None:
    page.goto(f"{SERVER}/week/")
    page.fill("input[name=username]", "owner@demo.invalid")
    page.fill("input[name=password]", password)
    page.click("main button[type=submit]")
    page.wait_for_url("**/week/**")


if __name__ == "__main__":
    main()
