"""Every page in a real browser, on a phone, a tablet and a laptop: nobody is kept out of it, it
fits, asks nobody else for anything and is there soon."""

import re
from collections.abc import Iterator, Mapping
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, Response
from pytest_django.live_server_helper import LiveServer

from finishing.models import Company, Role, User
from finishing.services.companies import start_company
from tests.api.every_page import MORE_PAGES, PAGES, address_of, of_the_company
from tests.api.page_quality import WIDTHS_PX, Watched, faults_at_all_widths
from tests.api.shown_company import NOON, make_shown_company
from tests.browsers import new_page, open_browser
from tests.factories import ZONE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MOST_BYTES = 200_000


@pytest.fixture(autouse=True)
def _at_noon(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: NOON)


def test_no_page_keeps_anybody_out_and_all_are_there_soon(
    transactional_db: None, live_server: LiveServer
) -> None:
    shown = make_shown_company()
    addresses = {name: address_of(name, shown) for name in (*PAGES, *MORE_PAGES)}
    assert faults_of_pages(shown.company, live_server.url, addresses) == {}


def test_nor_do_those_of_a_company_that_has_nothing_yet(
    transactional_db: None, live_server: LiveServer
) -> None:
    company = start_company(name="Nothing yet", zone=ZONE)
    addresses = {
        f"{name}-empty": reverse(f"web:{name}")
        for name, of in PAGES.items()
        if of is of_the_company
    }
    assert faults_of_pages(company, live_server.url, addresses) == {}


def faults_of_pages(company: Company, site: str, addresses: Mapping[str, str]) -> dict[str, object]:
    """Return by name what is wrong with pages, for somebody of a company who loads each afresh."""
    session, found = session_of(company), {}
    with open_browser() as browser:
        for name, address in addresses.items():
            with new_page(browser, WIDTHS_PX[0]) as page:
                page.context.add_cookies([{"name": "sessionid", "value": session, "url": site}])
                found[name] = [*faults_of_page(page, site, name, address)]
    return {name: faults for name, faults in found.items() if faults}


def session_of(company: Company) -> str:
    client = Client()
    client.force_login(
        User.objects.create(email="office@example.com", company=company, role=Role.OWNER)
    )
    return client.cookies["sessionid"].value


def faults_of_page(page: Page, site: str, name: str, address: str) -> Iterator[str]:
    watched = Watched(page, site)
    answer = page.goto(site + address)
    if answer is None or answer.status != 200:
        yield f"{address} is not there"
    if (size := watched.compressed_bytes()) > MOST_BYTES:
        yield f"{size} bytes"
    yield from faults_at_all_widths(page, name)
    if answer is not None and page.title() != (own := title_in(answer)):
        yield f"what was fetched after it has made {own!r} to {page.title()!r}"
    yield from watched.complaints
    yield from watched.elsewhere


def title_in(answer: Response) -> str:
    """Return the title that the page came with."""
    found = re.search("<title>(.*?)</title>", answer.text(), re.DOTALL)
    return " ".join(unescape(found.group(1)).split()) if found else ""
