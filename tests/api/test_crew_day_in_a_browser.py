"""A crew's day on a phone: no signal, double taps, what is kept and sent later."""

from collections.abc import Iterator
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Page
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

from finishing.models import Surface
from scheduling.models import ExtraWork, Obstacle, Report, Visit
from scheduling.services.links import make_page, page_address
from scheduling.services.photos import photo_path
from scheduling.services.publish import publish_plan
from tests.api.test_crew_air_in_a_browser import (
    SMALLEST_TEXT_PX,
    SMALLEST_TOUCH_PX,
    text_sizes_px,
    touch_heights_px,
)
from tests.api.test_pages_in_a_browser import browser_page, overflow_px
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.sites import FLATS_AND_CORNERS, add_joints

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def path(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> str:
    """The address of a crew that is at a house with a long name today."""
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # rows are read while the page is open
    company = make_company()
    crew = make_crew(company)
    house = make_house(
        company,
        "14 Orchard Terrace, rear extension",
        rooms=("Hall", "Kitchen and dining room"),
        address="14 Orchard Terrace",
        latitude=53.35,
        longitude=-6.26,
    )
    for surface in Surface.objects.all():
        add_joints(surface, FLATS_AND_CORNERS)
    soon = timezone.now().replace(microsecond=0) + timedelta(minutes=5)
    make_plan(
        company,
        [
            task(crew, house, soon, room="Hall", cautions=["ladders"]),
            task(crew, house, soon + timedelta(hours=2), room="Kitchen and dining room"),
        ],
    )
    publish_plan(company=company, now=timezone.now())
    return "/" + page_address(make_page(crew=crew)).split("/", 3)[3]


@pytest.fixture
def complaints() -> list[str]:
    return []


@pytest.fixture
def phone(path: str, live_server: LiveServer, complaints: list[str]) -> Iterator[Page]:
    """The page on a phone, ready to open without signal."""
    with browser_page(360) as page:
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(live_server.url + path)
        page.locator("#kept[data-ready]").wait_for(state="attached")
        yield page


def kinds() -> list[str]:
    return [row.kind for row in Report.objects.all()]


def test_without_signal_the_page_opens_and_taps_are_kept_and_sent_later(
    phone: Page, complaints: list[str], tmp_path: Path
) -> None:
    phone.context.set_offline(True)
    phone.reload()
    phone.get_by_text("No signal.").wait_for()
    phone.get_by_role("button", name="Started").dblclick()
    phone.get_by_text("kept, not sent yet").wait_for()
    phone.get_by_text("Extra work", exact=True).click()
    phone.get_by_label("What was it?").fill("Patched a hole")
    phone.get_by_label("Hours, of all of you together").fill("1,5")
    phone.get_by_role("button", name="Note extra work").click()
    phone.locator("#kept li").nth(1).wait_for()
    box = phone.locator("#kept").bounding_box()
    assert phone.evaluate("scrollY") > 0, "the page was scrolled to what was tapped"
    assert box is not None
    assert 0 <= box["y"] < 100, "what is kept is told where the crew looks"
    phone.screenshot(path=tmp_path / "kept.png", full_page=True)
    phone.reload()  # as after closing it: what was tapped is still there
    phone.locator("#kept li").nth(1).wait_for()
    assert (kinds(), ExtraWork.objects.count()) == ([], 0)
    phone.context.set_offline(False)
    phone.get_by_text("extra work: Patched a hole, 1.5 hours").wait_for()
    phone.locator("#kept").wait_for(state="hidden")
    phone.reload()
    said = phone.locator(".said li").all_inner_texts()
    assert [line.split(" ", 1)[1] for line in said] == [
        "started",
        "extra work: Patched a hole, 1.5 hours",
    ]
    assert kinds() == ["started"]
    assert [row.person_minutes for row in ExtraWork.objects.all()] == [90]
    assert complaints == []


def test_a_double_tap_with_signal_counts_once(phone: Page, complaints: list[str]) -> None:
    phone.get_by_role("button", name="Started").dblclick()
    phone.locator(".said li").wait_for()
    assert phone.locator(".said li").count() == 1
    assert kinds() == ["started"]
    assert complaints == []


def test_what_the_server_refuses_stays_in_sight_with_its_reason(phone: Page) -> None:
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Started").click()
    phone.get_by_text("kept, not sent yet").wait_for()
    Visit.objects.update(cancelled_at=timezone.now())
    phone.context.set_offline(False)
    phone.get_by_text("was not taken:").wait_for()
    assert "is in no published visit" in phone.locator(".why").inner_text()
    phone.reload()
    phone.get_by_text("was not taken:").wait_for()
    phone.get_by_role("button", name="Remove").click()
    phone.locator("#kept").wait_for(state="hidden")
    assert kinds() == []


def test_a_photo_taken_without_signal_comes_with_its_report_later(
    phone: Page, settings: Settings, tmp_path: Path
) -> None:
    settings.PHOTO_DIR = tmp_path
    photo = BytesIO()
    Image.new("RGB", (40, 30), "grey").save(photo, "PNG")
    phone.context.set_offline(True)
    phone.locator("summary", has_text="Cannot work").click()
    phone.get_by_label("Damage by others").check()
    phone.get_by_label("Photo, if it helps").set_input_files(
        {"name": "hall.png", "mimeType": "image/png", "buffer": photo.getvalue()}
    )
    phone.get_by_role("button", name="Cannot work").click()
    phone.get_by_text("kept, not sent yet").wait_for()
    phone.reload()
    phone.context.set_offline(False)
    phone.get_by_text("cannot work: Damage by others").wait_for()
    obstacle = Obstacle.objects.get()
    with Image.open(photo_path(obstacle.company, obstacle.photo)) as kept:
        assert (kept.format, kept.size) == ("JPEG", (40, 30))
    assert kinds() == ["not_done", "not_done"]


def test_everything_can_be_touched_with_gloves_and_read_on_360_px(
    phone: Page, tmp_path: Path
) -> None:
    for details in phone.locator("summary").all():
        details.click()
    phone.get_by_label("Tape coat, Ground floor, Hall").first.check()
    phone.screenshot(path=tmp_path / "open.png", full_page=True)
    heights = touch_heights_px(phone)
    assert min(heights.values()) >= SMALLEST_TOUCH_PX, heights
    assert min(text_sizes_px(phone)) >= SMALLEST_TEXT_PX
    assert overflow_px(phone) == 0
