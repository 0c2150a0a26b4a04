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
MANAGE = [sys.executable, "manage.py"]
DEMO = ["demo", "--today", "2026-10-19", "--work", "100", "--port", PORT]
AWAY = ["absent", "North crew", "2026-10-21..2026-10-22", "--reason", "ill"]
AGAIN = ["replan", "--today", "2026-10-20", "--work", "100"]


def main() -> None:
    """Serve the demo on a database of its own and photograph its pages."""
    with tempfile.TemporaryDirectory() as var:
        os.environ |= {"COATWEAVE_VAR": var, "PYTHONUNBUFFERED": "1"}
        demo = subprocess.Popen([*MANAGE, *DEMO], cwd=ROOT, stdout=subprocess.PIPE, text=True)
        try:
            assert demo.stdout
            password = next(
                found[1]
                for line in demo.stdout
                if (found := re.search(r"with the password (\S+)", line))
            )
            for command in AWAY, AGAIN:
                subprocess.run([*MANAGE, *command], cwd=ROOT, check=True)
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
        phone.goto(f"{crew_page(page)}2026-10-20/")
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
    """Photograph what is proposed once a crew is away."""
    page.goto(f"{SERVER}/runs/")
    page.locator("section[aria-labelledby=runs] a").first.click()
    page.locator("section[aria-labelledby=choice]").screenshot(path=PICTURES / "proposals.png")


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
