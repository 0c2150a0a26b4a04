"""The page for readings on a phone: sizes for gloves, and a reading noted from it."""

from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Page
from pytest_django.live_server_helper import LiveServer

from finishing.models import AirDay, House, SentReading
from scheduling.services.links import make_page, page_address
from tests.api.test_pages_in_a_browser import browser_page, overflow_px
from tests.factories import make_company, make_crew, make_house

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
HOUSES = ("Mill Cottage", "14 Orchard Terrace, rear extension and attic")
SMALLEST_TOUCH_PX = 48
SMALLEST_TEXT_PX = 16


def touch_heights_px(page: Page) -> dict[str, float]:
    """Return the height of everything that is there to be touched, by what it says."""
    touched = page.locator("button, label:has(input), input:not([type=hidden], label input), a")
    heights = {}
    for each in touched.filter(visible=True).all():
        box = each.bounding_box()
        assert box
        heights[each.inner_text() or each.get_attribute("id") or ""] = box["height"]
    return heights


def text_sizes_px(page: Page) -> set[float]:
    sizes = page.evaluate(
        "[...document.querySelectorAll('main *')]"
        ".filter(one => one.matches('input[inputmode]') || [...one.childNodes].some("
        "  node => node.nodeType == Node.TEXT_NODE && node.textContent.trim()))"
        ".map(one => parseFloat(getComputedStyle(one).fontSize))"
    )
    return set(sizes)


def test_a_reading_is_noted_with_a_thumb(
    transactional_db: None, live_server: LiveServer, tmp_path: Path
) -> None:
    company = make_company()
    for name in HOUSES:
        make_house(company, name)
    link = make_page(crew=make_crew(company))
    path = "/" + page_address(link).split("/", 3)[3] + "air/"
    with browser_page(360) as page:
        complaints: list[str] = []
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(live_server.url + path)
        page.screenshot(path=tmp_path / "empty.png", full_page=True)
        widths, heights, texts = [overflow_px(page)], touch_heights_px(page), text_sizes_px(page)
        page.get_by_label("Temperature", exact=True).fill("90")
        page.get_by_label("Humidity, percent").fill("0,55")
        page.get_by_role("button", name="Send").click()
        page.locator("form:not(.waiting) .faults").wait_for()
        page.screenshot(path=tmp_path / "faults.png", full_page=True)
        widths.append(overflow_px(page))
        heights |= touch_heights_px(page)
        texts |= text_sizes_px(page)
        page.get_by_label(HOUSES[1]).check()
        page.get_by_text("°F").click()
        page.get_by_label("Humidity, percent").fill("55,5")
        page.get_by_role("button", name="Send").dblclick()
        page.get_by_role("status").get_by_text("Noted").wait_for()
        noted = page.get_by_role("status").inner_text()
        page.screenshot(path=tmp_path / "noted.png", full_page=True)
        widths.append(overflow_px(page))
    assert widths == [0, 0, 0]
    assert min(heights.values()) >= SMALLEST_TOUCH_PX, heights
    assert min(texts) >= SMALLEST_TEXT_PX
    assert complaints == []
    assert noted == f"Noted: 32.2 °C, 55.5 % in {HOUSES[1]}."
    assert SentReading.objects.count() == 1
    assert AirDay.objects.get().source.house == House.objects.get(name=HOUSES[1])
    assert timezone.now() - SentReading.objects.get().hour < timedelta(hours=2)


def test_a_reading_taken_without_signal_is_sent_with_its_hour_once_there_is_some(
    transactional_db: None, live_server: LiveServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # rows are read while the page is open
    company = make_company()
    for name in HOUSES:
        make_house(company, name)
    link = make_page(crew=make_crew(company))
    path = "/" + page_address(link).split("/", 3)[3]
    with browser_page(360) as page:
        page.goto(live_server.url + path)
        page.locator("#kept[data-ready]").wait_for(state="attached")
        page.context.set_offline(True)
        page.goto(live_server.url + path + "air/")
        page.get_by_text("No signal.").wait_for()
        page.get_by_label(HOUSES[0]).check()
        page.get_by_label("Temperature", exact=True).fill("14")
        page.get_by_label("Humidity, percent").fill("70")
        page.get_by_role("button", name="Send").dblclick()
        page.get_by_text("Temperature and humidity kept, not sent yet").wait_for()
        page.locator("form:not(.waiting)").wait_for()
        page.get_by_label(HOUSES[1]).check()
        page.get_by_label("Temperature", exact=True).fill("9")
        page.get_by_label("Humidity, percent").fill("80")
        page.get_by_role("button", name="Send").click()
        page.get_by_text("kept, not sent yet").nth(1).wait_for()
        assert SentReading.objects.count() == 0
        page.goto(live_server.url + path)
        page.get_by_text("kept, not sent yet").nth(1).wait_for()
        page.context.set_offline(False)
        page.get_by_text("kept, not sent yet").first.wait_for(state="hidden")
        page.goto(live_server.url + path + "air/")
        page.get_by_text("Last: 14 °C, 70 %").wait_for()
    readings = SentReading.objects.values_list("house__name", "temperature_c").order_by("pk")
    assert list(readings) == [(HOUSES[0], 14.0), (HOUSES[1], 9.0)]


def test_a_kept_reading_that_is_refused_while_another_page_is_open_is_named_there(
    transactional_db: None, live_server: LiveServer
) -> None:
    company = make_company()
    make_house(company, HOUSES[0])
    path = "/" + page_address(make_page(crew=make_crew(company))).split("/", 3)[3]
    with browser_page(360) as page:
        page.goto(live_server.url + path)
        page.locator("#kept[data-ready]").wait_for(state="attached")
        page.context.set_offline(True)
        page.goto(live_server.url + path + "air/")
        page.get_by_label(HOUSES[0]).check()
        page.get_by_label("Temperature", exact=True).fill("14")
        page.get_by_label("Humidity, percent").fill("170")
        page.get_by_role("button", name="Send").click()
        page.get_by_text("kept, not sent yet").wait_for()
        page.goto(live_server.url + path)
        page.get_by_text("kept, not sent yet").wait_for()
        page.context.set_offline(False)
        page.get_by_text("170 is not from 0 to 100 percent").wait_for()
        page.get_by_role("button", name="Remove").click()
        page.get_by_text("was not taken:").wait_for(state="hidden")
