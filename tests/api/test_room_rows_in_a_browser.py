"""Rooms typed in rows in a real browser: totals follow, and there is always a blank row."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page
from pytest_django.live_server_helper import LiveServer

from finishing.models import Area, Role, Room, User
from tests.api.test_pages_in_a_browser import EMAIL, PASSWORD, browser_page, sign_in
from tests.sites import make_site

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def path(transactional_db: None) -> str:
    company, house = make_site()
    User.objects.create_user(EMAIL, PASSWORD, company=company, role=Role.OWNER)
    return reverse("web:area_rooms", args=[house.public_id, Area.objects.get().public_id])


def type_a_room(page: Page, number: int, **typed: str) -> None:
    for name, text in typed.items():
        page.locator(f"[name='new-{number}-{name}']").fill(text)


def test_totals_and_rows_follow_what_is_typed_and_all_of_it_is_saved(
    path: str, live_server: LiveServer
) -> None:
    complaints: list[str] = []
    with browser_page(1440) as page:
        page.on("pageerror", lambda error: complaints.append(str(error)))
        sign_in(page, live_server.url)
        page.goto(live_server.url + path)
        before = page.locator("tr.new").count()
        for number in range(1, before + 2):
            type_a_room(
                page, number, name=f"Room {number}", length_m="5", width_m="4", height_m="2.6"
            )
        after = page.locator("tr.new").count()
        total = page.locator(f"#sum-new-{before + 1}")
        total.get_by_text("m²").wait_for()
        five_by_four = total.inner_text()
        type_a_room(page, before + 1, length_m="10")
        page.wait_for_function(
            "([id, was]) => { const now = document.getElementById(id).textContent;"
            " return now && now !== was; }",
            arg=[f"sum-new-{before + 1}", five_by_four],
        )
        with page.expect_navigation():
            page.get_by_role("button", name="Save the rooms").click()
        page.get_by_text("Saved.").wait_for()
    assert after == before + 2, "typing in the last row adds the next"
    names = set(Room.objects.values_list("name", flat=True))
    assert names == {"Hall", *(f"Room {number}" for number in range(1, before + 2))}
    assert Room.objects.get(name=f"Room {before + 1}").length_m == 10
    assert complaints == []
