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
DEMO = ["demo", "--today", "2026-10-19", "--work", "300", "--port", PORT]


def main() -> None:
    """Serve the demo on a database of its own and photograph its week."""
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
        page.goto(f"http://127.0.0.1:{PORT}/week/2026-10-19/")
        page.screenshot(path=PICTURES / "week.png")
        browser.close()


def sign_in(page: Page, password: str) -> None:
    page.goto(f"http://127.0.0.1:{PORT}/week/")
    page.fill("input[name=username]", "owner@demo.invalid")
    page.fill("input[name=password]", password)
    page.click("main button[type=submit]")
    page.wait_for_url("**/week/**")


if __name__ == "__main__":
    main()
