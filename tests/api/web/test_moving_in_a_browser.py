"""Dragging a visit on the drawn week, and the same by keyboard, in a real browser."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect
from pytest_django.live_server_helper import LiveServer

from finishing.models import Company, Role, User
from scheduling.models import Pin
from tests.api.test_pages_in_a_browser import EMAIL, PASSWORD, browser_page, overflow_px, sign_in
from tests.factories import local, make_crew
from tests.plans import first_plan
from tests.sites import MONDAY, make_site

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SOON = MONDAY + timedelta(minutes=20)
WEEK = "/week/2026-03-02/"


@pytest.fixture
def company(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> Company:
    monkeypatch.setattr(timezone, "now", lambda: SOON)
    company, _ = make_site(system="All-purpose drying")
    make_crew(company, "South crew")
    first_plan(company)
    User.objects.create_user(EMAIL, PASSWORD, company=company, role=Role.OWNER)
    return company


def middle_of(page: Page, number: int = 0) -> tuple[float, float]:
    box = page.locator("a[data-move]").nth(number).bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def crew_row_y(page: Page, name: str) -> float:
    box = page.locator(f".crew-row[data-name='{name}']").bounding_box()
    assert box
    return box["y"] + box["height"] / 2


def drag_to(page: Page, x: float, y: float) -> None:
    from_x, from_y = middle_of(page)
    page.mouse.move(from_x, from_y)
    page.mouse.down()
    page.mouse.move(from_x + 10, from_y)
    page.mouse.move(x, y, steps=5)


def test_drop_on_another_crews_lane_asks_and_only_the_button_stores(
    company: Company, live_server: LiveServer
) -> None:
    complaints: list[str] = []
    with browser_page(1440) as page:
        page.on("console", lambda message: complaints.append(message.text))
        sign_in(page, live_server.url)
        page.goto(live_server.url + WEEK)
        x, _ = middle_of(page)
        drag_to(page, x + 60, crew_row_y(page, "South crew"))
        ghost = page.locator(".drag-ghost").inner_text()
        page.mouse.up()
        answer = page.get_by_role("dialog").locator("#answer")
        expect(answer).to_contain_text("It holds: South crew, Mon 2 Mar")
        time = page.get_by_label("Work begins").input_value()
        stored_by_the_drop = page.locator(".pinned").count()
        page.get_by_role("button", name="Pin it there").click()
        expect(page.locator(".pinned")).to_contain_text("Pinned to South crew, Mon 2 Mar")
        page.goto(live_server.url + WEEK)
        marks = page.locator(".drawn .crew-row .pin").count()
    assert ghost.startswith("South crew, Mon 2 Mar")
    assert ghost.endswith(time)
    assert int(time[-2:]) % 15 == 0, "it snaps to quarter hours"
    assert stored_by_the_drop == 0
    assert marks, "the pin is drawn"
    assert complaints == []
    pin = Pin.objects.get()
    assert (pin.crew.name, pin.starts_at) == ("South crew", local(f"2026-03-02 {time}"))


def test_escape_while_dragging_and_in_the_dialog_leaves_all_as_it_was(
    company: Company, live_server: LiveServer
) -> None:
    with browser_page(1440) as page:
        sign_in(page, live_server.url)
        page.goto(live_server.url + WEEK)
        x, y = middle_of(page)
        page.evaluate("addEventListener('click', e => { window.led = true; e.preventDefault() })")
        drag_to(page, x + 60, y)
        page.keyboard.press("Escape")
        ghosts = page.locator(".drag-ghost").count()
        page.mouse.up()
        led_away = page.evaluate("window.led")
        dialogs = page.locator("dialog[open]").count()
        page.goto(live_server.url + WEEK)
        drag_to(page, x + 60, y)
        page.mouse.up()
        page.wait_for_selector("dialog[open] #answer button")
        page.keyboard.press("Escape")
        left_open = page.locator("dialog[open]").count()
        where = page.url
    assert (ghosts, dialogs, left_open) == (0, 0, 0)
    assert led_away is None, "the end of the drag is no click on the visit's link"
    assert where.endswith(WEEK)
    assert not Pin.objects.exists()


def test_finger_that_moves_at_once_scrolls_and_one_that_holds_drags(
    company: Company, live_server: LiveServer
) -> None:
    with browser_page(1440) as page:
        sign_in(page, live_server.url)
        page.goto(live_server.url + WEEK)
        x, y = middle_of(page)
        finger = {"pointerType": "touch", "pointerId": 7, "isPrimary": True, "bubbles": True}
        visit = page.locator("a[data-move] rect").first
        page.evaluate("Element.prototype.setPointerCapture = () => {}")  # no real finger is down
        visit.dispatch_event("pointerdown", {**finger, "button": 0, "clientX": x, "clientY": y})
        visit.dispatch_event("pointermove", {**finger, "clientX": x, "clientY": y + 40})
        page.wait_for_timeout(500)
        scrolled = page.locator(".drag-ghost").count()
        visit.dispatch_event("pointerdown", {**finger, "button": 0, "clientX": x, "clientY": y})
        page.wait_for_selector(".drag-ghost")
        visit.dispatch_event("pointerup", {**finger, "clientX": x, "clientY": y})
        page.wait_for_selector("dialog[open] #answer button")
    assert scrolled == 0


def test_keyboard_moves_a_visit_from_its_page(company: Company, live_server: LiveServer) -> None:
    with browser_page(360) as page:
        sign_in(page, live_server.url)
        page.goto(live_server.url + WEEK)
        page.get_by_role("link", name="Move the visit at Mill Cottage").first.focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**/visits/*/move/")
        page.get_by_label("Work begins").focus()
        page.get_by_label("Work begins").fill("17:00")
        page.keyboard.press("Tab")
        offer = page.get_by_role("button", name="Take the nearest that would do")
        expect(offer).to_be_visible()
        too_wide = overflow_px(page)
        offer.focus()
        page.keyboard.press("Enter")
        confirm = page.get_by_role("button", name="Pin it there")
        expect(confirm).to_be_visible()
        confirm.focus()
        page.keyboard.press("Enter")
        expect(page.locator(".pinned")).to_contain_text("Pinned to North crew")
        page.get_by_role("button", name="Let it move again").press("Enter")
        expect(page.locator(".pinned")).to_have_count(0)
    assert too_wide == 0
    assert Pin.objects.get().ended_at == SOON
