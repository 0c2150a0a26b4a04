"""Debian's Chromium, as every browser test starts it."""

from playwright.sync_api import Browser, Playwright

PROGRAM = "/usr/bin/chromium"
ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run")


def launch(playwright: Playwright) -> Browser:
    return playwright.chromium.launch(executable_path=PROGRAM, args=[*ARGUMENTS])
