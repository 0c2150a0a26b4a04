"""Pages that say no, in a real browser: a form that was filled in wrongly, an address that shows
nothing, somebody who is not let in. Nobody is kept out of what to do next."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from uuid import UUID

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Page
from pytest_django.live_server_helper import LiveServer

from finishing.models import Role, User
from scheduling.models import Publication
from scheduling.services.links import make_page, page_address, revoke_link
from tests.api.every_page import Shown, address_of
from tests.api.faulty_forms import FORMS, send
from tests.api.page_quality import faults_at_all_widths
from tests.api.shown_company import NOON, make_shown_company
from tests.browsers import new_page, open_browser
from tests.factories import make_company, make_crew

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
EMAIL, PASSWORD = "office@example.com", "long enough words"
NOBODYS = UUID(int=1)


@pytest.fixture(autouse=True)
def _at_noon(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOON)


@pytest.fixture
def shown(transactional_db: None) -> Shown:
    return make_shown_company()


@contextmanager
def office_page(browser: Browser, site: str, session: str) -> Iterator[Page]:
    with new_page(browser, 1440) as page:
        page.context.add_cookies([{"name": "sessionid", "value": session, "url": site}])
        yield page


def session_of(user: User) -> str:
    client = Client()
    client.force_login(user)
    return client.cookies["sessionid"].value


def test_every_kind_of_form_says_what_is_wrong_to_everybody(
    shown: Shown, live_server: LiveServer
) -> None:
    site, found = live_server.url, {}
    session = session_of(User.objects.create(email=EMAIL, company=shown.company, role=Role.OWNER))
    addresses = {name: address_of(form.page, shown) for name, form in FORMS.items()}
    with open_browser() as browser:
        for name, form in FORMS.items():
            with office_page(browser, site, session) as page:
                page.goto(site + addresses[name])
                status = send(page, form)
                found[name] = [*faults_at_all_widths(page, f"faulty-{name}")]
                if status != form.status:
                    found[name].append(f"answered {status}")
    assert {name: faults for name, faults in found.items() if faults} == {}


def test_nor_is_anybody_kept_out_where_somebody_else_was_quicker(
    shown: Shown, live_server: LiveServer
) -> None:
    """An edit of what another tab has changed; a publication of a plan that is not the plan any
    more."""
    site = live_server.url
    session = session_of(User.objects.create(email=EMAIL, company=shown.company, role=Role.OWNER))
    house = address_of("site", shown)
    changes = address_of("run", shown)
    published = Publication.objects.get().plan
    assert published
    found = {}
    with open_browser() as browser, office_page(browser, site, session) as page:
        page.goto(site + house)
        other = page.context.new_page()
        other.goto(site + house)
        _rename(other, "Their name")
        _rename(page, "My name")
        found["stale"] = [*faults_at_all_widths(page, "stale")]
        assert "Their name" in page.get_by_role("alert").inner_text()
        page.goto(site + changes)
        page.get_by_role("button", name="Accept 1").click()
        page.goto(f"{site}/publishing/")
        old = reverse("web:publish", kwargs={"public_id": published.public_id})
        page.evaluate("to => { document.querySelector('form[action*=plans]').action = to }", old)
        page.get_by_role("button", name="Publish to the crews").click()
        page.get_by_text("Nothing was published:").wait_for()
        found["not-published"] = [*faults_at_all_widths(page, "not-published")]
    assert {name: faults for name, faults in found.items() if faults} == {}


def _rename(page: Page, name: str) -> None:
    page.locator("#id_name").fill(name)
    with page.expect_navigation():
        page.get_by_role("button", name="Save the house", exact=True).click()


def test_nor_where_somebody_is_not_let_in(transactional_db: None, live_server: LiveServer) -> None:
    site, found = live_server.url, {}
    company = make_company()
    owner = User.objects.create_user(EMAIL, PASSWORD, company=company, role=Role.OWNER)
    viewer = User.objects.create(email="viewer@example.com", company=company, role=Role.VIEWER)
    nobodys = User.objects.create(email="nobody@example.com")
    inside, looks, outside = [session_of(user) for user in (owner, viewer, nobodys)]
    link = make_page(crew=make_crew(company))
    phone = "/" + page_address(link).split("/", 3)[3]
    revoke_link(link=link, now=NOON)
    nobodys_visit = reverse("web:visit", args=[NOBODYS])
    unknown = reverse("web:crew_day", args=["nobody-has-this", date(2026, 3, 2)])
    refused = {
        "no-such-house": (inside, reverse("web:house", args=[NOBODYS]), "Nothing is here"),
        "no-such-address": ("", "/nowhere/", "Nothing is here"),
        "not-allowed": (looks, "/company/feeds/", "Not yours to do"),
        "no-company": (outside, "/", "Nothing is here"),
        "phone-ended": ("", phone, "This page has ended"),
        "visit": ("", nobodys_visit, "You are from the office?"),
        "phone-unknown": ("", unknown, "There is no such page"),
    }
    with open_browser() as browser:
        for name, (session, address, said) in refused.items():
            with office_page(browser, site, session or "none") as page:
                page.goto(site + address)
                page.get_by_text(said).first.wait_for()
                found[name] = [*faults_at_all_widths(page, name)]
        with new_page(browser, 1440) as page:
            page.goto(f"{site}/sign-in/")
            found["sign-in"] = [*faults_at_all_widths(page, "sign-in")]
            _sign_in(page, "other words")
            page.locator(".errorlist").wait_for()
            found["sign-in-refused"] = [*faults_at_all_widths(page, "sign-in-refused")]
            page.context.clear_cookies(name=settings.CSRF_COOKIE_NAME)
            _sign_in(page, PASSWORD)
            page.get_by_text("Nothing was done").wait_for()
            found["no-cookie"] = [*faults_at_all_widths(page, "no-cookie")]
    assert {name: faults for name, faults in found.items() if faults} == {}


def _sign_in(page: Page, password: str) -> None:
    page.get_by_label("Email").fill(EMAIL)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
