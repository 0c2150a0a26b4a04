"""A page offers nobody what they may not do: no form they could not send, no link to a refusal."""

from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from django.urls import resolve

from finishing.models import Crew, Role
from finishing.queries.rights import Right, rights_of
from tests.api.addresses import filled
from tests.api.conftest import SignIn
from tests.api.small_company import make_small_company
from tests.api.who_may import EVERY, PAGES

pytestmark = pytest.mark.django_db
CONTROLS = {"button", "input", "select", "textarea"}


class Offers(HTMLParser):
    """links: where a page leads; sends: the addresses that its forms can be sent to as they are;
    looks: how many forms ask for the page in another way."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.page = page
        self.links: set[str] = set()
        self.sends: set[str] = set()
        self.looks = 0
        self._locks: list[bool] = []
        self._form: dict[str, str | None] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        if tag == "a":
            self.links.add(said.get("href") or "")
        elif tag == "fieldset":
            self._locks.append("disabled" in said)
        elif tag == "form":
            self._form = said
        elif tag in CONTROLS and self._form is not None and self._can_be_used(said):
            self._offer(self._form)

    def handle_endtag(self, tag: str) -> None:
        if tag == "fieldset":
            self._locks.pop()
        elif tag == "form":
            self._form = None

    def _can_be_used(self, said: dict[str, str | None]) -> bool:
        is_locked = any(self._locks) or "disabled" in said
        return not is_locked and said.get("type") != "hidden"

    def _offer(self, form: dict[str, str | None]) -> None:
        if form.get("method") == "post":
            self.sends.add(form.get("action") or self.page)
        else:
            self.looks += 1


def refused(offers: Offers, role: Role) -> Iterator[str]:
    """Yield what a page offers that somebody of a role would be refused."""
    held = rights_of(role)
    for address in offers.links:
        path = address.partition("?")[0].partition("#")[0]
        if path.startswith("/"):
            route = resolve(path).route
            needs = EVERY[route].look
            if needs in {*Right} - held:
                yield f"{offers.page} leads {role} to {route}"
    for address in offers.sends:
        route = resolve(address.partition("?")[0]).route
        if EVERY[route].write in {*Right} - held:
            yield f"{offers.page} lets {role} send to {route}"


@pytest.mark.parametrize("role", [Role.VIEWER, Role.CREW_LEAD, Role.PLANNER])
def test_a_page_offers_only_what_its_reader_may_do(
    role: Role, sign_in: SignIn, started: list[int]
) -> None:
    company, values = make_small_company("Ours")
    crew = Crew.objects.filter(company=company)[0] if role == Role.CREW_LEAD else None
    client = sign_in(company, role, crew)
    wrong: list[str] = []
    looks = sends = 0
    for route, may in PAGES.items():
        address = filled(route, {**values, **may.parts})
        if may.look in rights_of(role) and (answer := client.get(address)).status_code == 200:
            offers = Offers(address)
            offers.feed(answer.text)
            wrong += refused(offers, role)
            looks += offers.looks
            sends += len(offers.sends)
    assert not wrong, "\n".join(wrong)
    assert looks, "what a page shows can be chosen by whoever may look"
    assert sends, "everybody can sign out"
