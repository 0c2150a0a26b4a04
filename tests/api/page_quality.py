"""What a browser finds fault with on a page."""

import gzip
import os
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from playwright.sync_api import Page, Request, Response

from tests.browsers import overflow_px

AXE = "COATWEAVE_AXE"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
WIDTHS_PX = (360, 768, 1440)
PICTURES = Path(os.environ.get("COATWEAVE_PICTURES") or settings.VAR_DIR / "pictures")
VIOLATIONS = """
async rules => {
  const options = { runOnly: { type: "tag", values: rules }, resultTypes: ["violations"] };
  const found = await axe.run(document, options);
  return found.violations.flatMap(fault => fault.nodes.map(
    node => `${fault.id}: ${node.target}: ${node.failureSummary}`
  ));
}
"""


class Watched:
    """What a page complains of and asks for from now on."""

    def __init__(self, page: Page, site: str) -> None:
        self.complaints: list[str] = []
        self.elsewhere: list[str] = []
        self._host = urlsplit(site).netloc
        self._answers: list[Response] = []
        page.on("console", lambda said: self.complaints.append(f"{said.type}: {said.text}"))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", self._note_host)
        page.on("response", self._note_answer)

    def _note_host(self, request: Request) -> None:
        if urlsplit(request.url).netloc != self._host:
            self.elsewhere.append(request.url)

    def _note_answer(self, answer: Response) -> None:
        self._answers.append(answer)

    def compressed_bytes(self) -> int:
        """Return how much has come so far, each answer as gzip makes it; what a service worker
        gets for later is nothing that the page waits for."""
        return sum(len(gzip.compress(body)) for body in self._bodies())

    def _bodies(self) -> Iterator[bytes]:
        for answer in self._answers:
            if answer.ok and not answer.from_service_worker:
                yield answer.body()


@cache
def _axe() -> str:
    """Return the script of axe-core (npm), which looks for what keeps people out."""
    path = Path(os.environ.get(AXE, "axe.min.js"))
    if not path.is_file():
        pytest.fail(
            f"{path} is not there: npm install --no-save --prefix FOLDER axe-core@4, then "
            f"{AXE}=FOLDER/node_modules/axe-core/axe.min.js (as .ci/run does)"
        )
    return path.read_text(encoding="utf-8")


def violations(page: Page) -> list[str]:
    """Return where a page as it stands breaks a rule of WCAG 2.2 AA, or good practice."""
    page.evaluate(_axe())
    found: list[str] = page.evaluate(VIOLATIONS, RULES)
    return found


def faults_at_all_widths(page: Page, name: str) -> Iterator[str]:
    """Look at a page as it stands on a phone, a tablet and a laptop: yield what keeps people out
    or runs over its edge, and leave its pictures under this name."""
    for width_px in WIDTHS_PX:
        page.set_viewport_size({"width": width_px, "height": 800})
        if too_wide := overflow_px(page):
            yield f"{too_wide} px too wide at {width_px} px"
        yield from (f"{fault} (at {width_px} px)" for fault in violations(page))
        page.screenshot(path=PICTURES / f"{name}-{width_px}.png", full_page=True)
