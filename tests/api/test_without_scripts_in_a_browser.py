"""The office's whole loop and a crew's day in a browser that runs no script: all but dragging, live
progress and taps without signal."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from django.test import Client
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Page
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

from finishing.models import Role, User
from finishing.services.companies import start_company
from scheduling.models import PlanRun
from scheduling.services.replan import run_replan
from tests.browsers import new_page, open_browser
from tests.factories import ZONE
from tests.sites import MONDAY

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
EMAIL, PASSWORD = "office@example.com", "long enough words"
HOUSE, CREW = "Mill Cottage", "Hill crew"
SIX, TWO = MONDAY + timedelta(hours=6), MONDAY + timedelta(hours=14)


class Clock:
    """What every request takes for now."""

    def __init__(self) -> None:
        self.now = SIX

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    clock = Clock()
    monkeypatch.setattr(timezone, "now", clock)
    return clock


@pytest.fixture
def air(transactional_db: None, tmp_path: Path) -> Path:
    """An air file as the office can download it, and the user who will bring it in."""
    company = start_company(name="My company", zone=ZONE)
    client = Client()
    client.force_login(User.objects.create_user(EMAIL, PASSWORD, company=company, role=Role.OWNER))
    path = tmp_path / "air.csv"
    path.write_bytes(client.get("/company/import/air/example/").content)
    return path


@pytest.fixture
def photos(settings: Settings, tmp_path: Path) -> Path:
    folder = settings.PHOTO_DIR = tmp_path / "photos"
    return folder


@contextmanager
def plain_page(site: str, width_px: int) -> Iterator[Page]:
    with open_browser() as browser, new_page(browser, width_px, java_script_enabled=False) as page:
        page.goto(site)
        yield page


@contextmanager
def office(site: str) -> Iterator[Page]:
    with plain_page(f"{site}/sign-in/", 1440) as page:
        page.get_by_label("Email").fill(EMAIL)
        page.get_by_label("Password").fill(PASSWORD)
        press(page, "Sign in")
        yield page


def press(page: Page, name: str) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name=name, exact=True).first.click()


def follow(page: Page, name: str) -> None:
    with page.expect_navigation():
        page.get_by_role("link", name=name).first.click()


def fill(page: Page, typed: dict[str, str]) -> None:
    for ending, text in typed.items():
        page.locator(f"main [name$='{ending}']:not([type=hidden])").first.fill(text)


def add_a_crew(page: Page) -> None:
    follow(page, "Add a crew")
    fill(page, {"name": CREW})
    press(page, "Add the crew")
    fill(page, {"new-1-name": "Ann", "new-2-name": "Ben"})
    press(page, "Save the people")
    fill(page, {f"{day}-hours": "07:00-15:30" for day in ("mon", "tue", "wed", "thu", "fri")})
    press(page, "Save the hours")
    page.get_by_text("Saved.").wait_for()


def add_a_house(page: Page) -> None:
    follow(page, "Houses")
    follow(page, "Add a house")
    fill(page, {"name": HOUSE, "handover_on": "2026-03-20"})
    press(page, "Make the house and go to its rooms")
    for number, room in enumerate(("Hall", "Kitchen"), start=1):
        row = {"name": room, "length_m": "5", "width_m": "4", "height_m": "2.6"}
        fill(page, {f"new-{number}-{name}": text for name, text in row.items()})
    press(page, "Work out only")
    assert "m²" in page.locator(".room-rows output").first.inner_text(), "totals with no script"
    press(page, "Save the rooms")
    page.get_by_text("Saved.").wait_for()


def bring_in_air(page: Page, air: Path) -> None:
    follow(page, "Company")
    follow(page, "Import files")
    page.locator("a[href$='/import/air/']").click()
    page.get_by_label("The file").set_input_files(air)
    press(page, "Check the file")
    press(page, "Import")
    page.get_by_role("status").get_by_text("Imported").wait_for()


def plan_again(page: Page) -> None:
    follow(page, "Planning")
    press(page, "Plan again")
    page.get_by_text("Waiting to begin").wait_for()
    page.get_by_role("button", name="Stop here").wait_for()


def run(run_id: int) -> None:
    """Do a run that was asked for, without the thread that the tests leave out."""
    PlanRun.objects.filter(pk=run_id).update(work=1)
    run_replan(run_id=run_id)


def look_at_the_last_run(page: Page) -> None:
    follow(page, "Planning")
    with page.expect_navigation():
        page.locator("table a").first.click()
    page.reload()
    page.get_by_text("Done ").first.wait_for()


def give_a_day_off(page: Page) -> None:
    follow(page, "Company")
    follow(page, "Crews")
    follow(page, CREW)
    day = {"off-new-1-first_day": "2026-03-04", "off-new-1-reason": "ill"}
    fill(page, day)
    press(page, "Save the days off")
    page.get_by_text("Saved.").first.wait_for()


def publish(page: Page) -> None:
    follow(page, "See what they would be told")
    press(page, "Publish to the crews")
    page.get_by_text("Nothing: crews see the working plan as it is.").wait_for()


def read_what_is_fetched_later(page: Page) -> None:
    """Every part that a script would bring is a link away."""
    follow(page, "Today")
    follow(page, "See which visits come too early")
    follow(page, "Today")
    follow(page, "Work out the odds")
    page.get_by_text("histories of the air").wait_for()
    follow(page, "Air")
    follow(page, "See the air in the houses")
    page.locator("main").get_by_text(HOUSE).first.wait_for()
    follow(page, "Houses")
    follow(page, HOUSE)
    follow(page, "Its water, how its coats dry, and its air")
    page.get_by_text("How the coats dry").wait_for()
    follow(page, "Planning")
    follow(page, "See what a plan would have to follow")


def move_a_visit(page: Page) -> None:
    follow(page, "Week")
    page.locator("table.week a", has_text="Move").last.click()
    page.get_by_label("Day").fill("2026-03-02")
    page.get_by_label("Begins").fill("03:00")
    press(page, "Check")
    page.locator(".answer.refused").wait_for()
    with page.expect_navigation():
        page.get_by_role("button", name="Take the nearest that would do").click()
    if page.get_by_role("button", name="Pin it there").count():
        press(page, "Pin it there")
    page.get_by_text("It is pinned there.").wait_for()


def take_back(page: Page) -> None:
    follow(page, "Planning")
    follow(page, "What has been published")
    page.locator("summary", has_text="Take revision 2 back").click()
    press(page, "Take revision 2 back now")
    page.get_by_role("rowheader", name="3", exact=True).wait_for()


def begin(site: str, air: Path) -> None:
    """Ask for the first plan of a company that had nothing."""
    with office(site) as page:
        add_a_crew(page)
        add_a_house(page)
        bring_in_air(page, air)
        plan_again(page)


def test_the_office_plans_and_publishes(
    live_server: LiveServer, air: Path, started: list[int]
) -> None:
    begin(live_server.url, air)
    run(started[0])
    with office(live_server.url) as page:
        look_at_the_last_run(page)
        publish(page)
        give_a_day_off(page)
        plan_again(page)
    run(started[1])
    with office(live_server.url) as page:
        look_at_the_last_run(page)
        press(page, "Accept 1")
        publish(page)
        read_what_is_fetched_later(page)
        move_a_visit(page)
        take_back(page)


def say(phone: Page, action: str, button: str = "") -> None:
    """Send what was filled in, and see that it was noted."""
    press(phone, button or action)
    assert phone.locator(".faults").all_inner_texts() == []
    phone.get_by_role("status").first.wait_for()


def unfold(phone: Page, action: str) -> None:
    phone.locator("summary", has_text=action).first.click()


def say_of_a_visit(phone: Page) -> None:
    unfold(phone, "Not dry yet")
    phone.locator("[name=wet]").first.check()
    say(phone, "Not dry yet")
    say(phone, "Started")
    unfold(phone, "Extra work")
    phone.get_by_label("What was it?").first.fill("Patched a hole")
    phone.get_by_label("Hours, of all of you together").first.fill("1,5")
    say(phone, "Note extra work")
    unfold(phone, "Finished")
    phone.locator("[name^='left:']").first.check()
    phone.locator("[name^='hours:']").first.fill("0.5")
    say(phone, "Finished")
    unfold(phone, "Cannot work")
    phone.get_by_label("Damage by others").first.check()
    phone.get_by_label("Photo, if it helps").first.set_input_files(
        {"name": "hall.png", "mimeType": "image/png", "buffer": photo()}
    )
    say(phone, "Cannot work")


def photo() -> bytes:
    made = BytesIO()
    Image.new("RGB", (40, 30), "grey").save(made, "PNG")
    return made.getvalue()


def note_the_air(phone: Page) -> None:
    phone.get_by_role("link", name="Note temperature and humidity").click()
    phone.get_by_label(HOUSE).check()
    phone.get_by_label("Temperature", exact=True).fill("14")
    phone.get_by_label("Humidity, percent").fill("70")
    say(phone, "Send")
    phone.get_by_role("status").get_by_text("Noted: 14 °C, 70 %").wait_for()


def test_a_crew_says_how_its_day_goes(
    live_server: LiveServer, air: Path, started: list[int], clock: Clock, photos: Path
) -> None:
    site = live_server.url
    begin(site, air)
    run(started[0])
    with office(site) as page:
        look_at_the_last_run(page)
        publish(page)
        follow(page, "Company")
        follow(page, "Calendars")
        address = page.get_by_label("Phone page, where").first.input_value()
    clock.now = TWO  # its first coats are done, as planned
    with plain_page(f"{site}/crew/{address.split('/crew/')[1]}", 360) as phone:
        assert not phone.locator("#kept").is_visible(), "nothing speaks of taps that are kept"
        say_of_a_visit(phone)
        said = [line.split(" ", 1)[1] for line in phone.locator(".said li").all_inner_texts()]
        note_the_air(phone)
    assert {line.split(":")[0].split(",")[0] for line in said} == {
        "not dry yet",
        "started",
        "extra work",
        "finished",
        "cannot work",
    }
    assert len(list(photos.rglob("*.jpg"))) == 1
