"""The ways in, in a real browser: a forgotten password, an invitation, a code from a phone. Nobody
is kept out by a page, with what is typed right or wrong."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from django.contrib.auth.tokens import default_token_generator
from django.urls import reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from playwright.sync_api import Page
from pytest_django.live_server_helper import LiveServer

from finishing.models import Role, User
from finishing.services.first_owner import first_code
from finishing.services.invitations import invitation_link, invite
from finishing.services.second_step import key_address, turn_on
from tests.api.page_quality import Watched, faults_at_all_widths
from tests.api.web.test_second_step import code_of
from tests.browsers import new_page, open_browser
from tests.factories import make_company

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
EMAIL, PASSWORD = "ann@example.com", "dust sheets and ladders"


class Looked:
    """A page, and by name what is wrong with each that was looked at on it."""

    def __init__(self, page: Page, site: str) -> None:
        self.page, self.site = page, site
        self.watched = Watched(page, site)
        self.found: dict[str, list[str]] = {}

    def open(self, name: str, address: str) -> None:
        self.page.goto(self.site + address)
        self._look(name)

    def send(self, name: str, button: str, typed: Mapping[str, str]) -> None:
        """Fill fields of the page's form in, by their names, and look at the page that comes."""
        for field, text in typed.items():
            self.page.locator(f".sign-in [name={field}]").fill(text)
        with self.page.expect_navigation():
            self.page.get_by_role("button", name=button, exact=True).click()
        self._look(name)

    def _look(self, name: str) -> None:
        self.found[name] = [*faults_at_all_widths(self.page, name), *self.watched.elsewhere]
        self.found[name] += [
            said for said in self.watched.complaints if "status of 4" not in said
        ]  # a form that was refused is answered so, which a browser notes
        self.watched.complaints.clear()

    def faults(self) -> dict[str, list[str]]:
        return {name: faults for name, faults in self.found.items() if faults}


@pytest.fixture
def ann(transactional_db: None) -> User:
    return User.objects.create_user(EMAIL, PASSWORD, company=make_company(), role=Role.OWNER)


def phone_key(person: User) -> str:
    return parse_qs(urlsplit(key_address(person)).query)["secret"][0]


def code_now(key: str) -> str:
    return code_of(key, timezone.now().timestamp())


def test_a_forgotten_password(ann: User, live_server: LiveServer) -> None:
    name = urlsafe_base64_encode(force_bytes(ann.pk))
    link = reverse("web:new_password", args=[name, default_token_generator.make_token(ann)])
    with open_browser() as browser, new_page(browser, 360) as page:
        looked = Looked(page, live_server.url)
        looked.open("forgotten", reverse("web:forgotten"))
        looked.send("forgotten-refused", "Send the link", {"email": "nobody"})
        looked.send("password-sent", "Send the link", {"email": EMAIL})
        looked.open("new-password", link)
        short = {"new_password1": "short", "new_password2": "other"}
        looked.send("new-password-refused", "Choose it", short)
        looked.open("new-password-ended", reverse("web:new_password", args=[name, "a-b"]))
        assert page.get_by_role("link", name="Have another sent").is_visible()
    assert looked.faults() == {}


def test_an_invitation(ann: User, live_server: LiveServer) -> None:
    assert ann.company
    told: dict[str, Any] = {"email": "bob@example.com", "role": Role.VIEWER, "crew": None}
    invitation = invite(company=ann.company, **told, by=ann, now=timezone.now())
    link = urlsplit(invitation_link(invitation)).path
    with open_browser() as browser, new_page(browser, 360) as page:
        looked = Looked(page, live_server.url)
        looked.open("join", link)
        short = {"password1": "short", "password2": "other"}
        looked.send("join-refused", "Choose it and sign in", short)
        looked.open("join-ended", reverse("web:join", args=["nobody-has-this"]))
    assert looked.faults() == {}


def test_the_first_owner(transactional_db: None, live_server: LiveServer) -> None:
    typed = {"code": str(first_code()), "email": EMAIL, "company": "Larch Finishing"}
    passwords = {"password1": PASSWORD, "password2": PASSWORD}
    with open_browser() as browser, new_page(browser, 360) as page:
        looked = Looked(page, live_server.url)
        looked.open("first-owner", reverse("web:today"))
        looked.send("first-owner-refused", "Begin", {**typed, "code": "guess"})
        looked.send("first-steps", "Begin", {**typed, **passwords})
        assert page.get_by_role("heading", name="Today").is_visible()
    assert looked.faults() == {}


def test_a_second_step_turned_on(ann: User, live_server: LiveServer) -> None:
    key = phone_key(ann)
    with open_browser() as browser, new_page(browser, 360) as page:
        looked = Looked(page, live_server.url)
        looked.open("sign-in", reverse("web:sign_in"))
        looked.send("signed-in", "Sign in", {"username": EMAIL, "password": PASSWORD})
        looked.open("second-step-on", reverse("web:edit_second_step"))
        looked.send("written-codes", "Turn it on", {"code": code_now(key)})
        assert page.locator("ul.secret li").count() == 10
    assert looked.faults() == {}


def test_a_second_step_asked_for_and_turned_off(ann: User, live_server: LiveServer) -> None:
    codes = turn_on(ann, code=code_now(phone_key(ann)))
    assert codes
    with open_browser() as browser, new_page(browser, 360) as page:
        looked = Looked(page, live_server.url)
        looked.open("sign-in", reverse("web:sign_in"))
        looked.send("code", "Sign in", {"username": EMAIL, "password": PASSWORD})
        looked.send("signed-in", "Sign in", {"code": codes[0]})
        looked.open("second-step-off", reverse("web:edit_second_step"))
        looked.send("second-step-off-refused", "Turn it off", {"password": "guess"})
        page.context.clear_cookies()
        looked.open("sign-in", reverse("web:sign_in"))
        looked.send("code", "Sign in", {"username": EMAIL, "password": PASSWORD})
        looked.send("code-refused", "Sign in", {"code": "abc"})
        assert page.locator(".errorlist").is_visible()
    assert looked.faults() == {}
