"""Every address of the project, asked by everybody there is: each gets what is theirs."""

from collections.abc import Callable, Mapping
from copy import deepcopy
from enum import StrEnum

import pytest
from django.db import transaction
from django.http import HttpResponseBase
from django.test import Client

from finishing.models import Company, Crew, Role
from finishing.queries.rights import Right, rights_of
from tests.api.addresses import admin_routes, all_routes, filled, row_ids_in
from tests.api.conftest import SignIn
from tests.api.rest.api_clients import program
from tests.api.small_company import make_small_company
from tests.api.who_may import EVERY, OPEN, RESOURCES, SECRET, May

pytestmark = pytest.mark.django_db


class Asker(StrEnum):
    """Somebody who comes to an address."""

    NOBODY = "nobody"
    CREW_LINK = "a phone that has opened its crew's page"
    CREW_LEAD = "crew_lead"
    VIEWER = "viewer"
    PLANNER = "planner"
    OWNER = "owner"
    REPORTER = "a token that may report and nothing else"
    PLANNERS_TOKEN = "a token that may plan and what goes with it"
    OWNERS_TOKEN = "a token that may own and what goes with it"


TOKENS: Mapping[Asker, Right] = {
    Asker.REPORTER: Right.REPORT,
    Asker.PLANNERS_TOKEN: Right.PLAN,
    Asker.OWNERS_TOKEN: Right.OWN,
}
"""The only scope that each was given."""
COMES_WITH: Mapping[Right, frozenset[Right]] = {
    Right.REPORT: frozenset({Right.REPORT, Right.VISITS}),
    Right.PLAN: frozenset({Right.PLAN, Right.READ, Right.VISITS}),
    Right.OWN: frozenset({Right.OWN, Right.READ, Right.VISITS}),
}


@pytest.fixture
def small(started: list[int]) -> tuple[Company, Mapping[str, object]]:  # no plan is begun
    return make_small_company("Ours")


def browser_of(asker: Asker, company: Company, secret: object, sign_in: SignIn) -> Client:
    client = Client()
    if asker == Asker.CREW_LINK:
        assert client.get(f"/crew/{secret}/").status_code == 200
    elif asker in TOKENS:
        client = program(company, TOKENS[asker]).client
    elif asker != Asker.NOBODY:
        leads = asker == Asker.CREW_LEAD
        crew = Crew.objects.filter(company=company)[0] if leads else None
        client = sign_in(company, Role(asker), crew)
    return client


def test_every_address_has_a_line() -> None:
    """A new address is a line in who_may.py, which says who may do what there."""
    routes = all_routes()
    assert sorted(EVERY) == sorted(routes)


@pytest.mark.parametrize("asker", Asker)
def test_everybody_gets_what_is_theirs(
    asker: Asker,
    small: tuple[Company, Mapping[str, object]],
    sign_in: SignIn,
) -> None:
    company, values = small
    client = browser_of(asker, company, values["page_secret"], sign_in)
    wrong = [
        f"{asker} {method} {route}: {answer.status_code}, not one of {sorted(expected)}"
        for route, may in EVERY.items()
        for method in ("GET", "POST")
        if (answer := ask(client, method, route, may, values)).status_code
        not in (expected := answers(asker, method, route, may))
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("asker", Asker)
def test_a_secret_that_is_none_opens_nothing(
    asker: Asker,
    small: tuple[Company, Mapping[str, object]],
    sign_in: SignIn,
) -> None:
    company, values = small
    client = browser_of(asker, company, values["page_secret"], sign_in)
    made_up = {**values, "page_secret": "A" * 64, "feed_secret": "A" * 43}
    for route, may in EVERY.items():
        if may.look == SECRET:
            assert ask(client, "GET", route, may, made_up).status_code == 404, route
            assert ask(client, "POST", route, may, made_up).status_code in {404, 405}, route


def test_another_companys_rows_are_nowhere(
    small: tuple[Company, Mapping[str, object]], sign_in: SignIn
) -> None:
    """Whoever may do everything in their own company finds none of another's rows at any address,
    each id for itself, whatever else in the address is their own."""
    _, ours = small
    other, theirs = make_small_company("Theirs")
    client = sign_in(other, Role.OWNER)
    asked = [
        (method, route, kind)
        for route, may in EVERY.items()
        for kind in row_ids_in(route)
        for method, needs in (("GET", may.look), ("POST", may.write))
        if needs
    ]
    assert len(asked) > 50
    wrong = [
        f"{method} {route} with another company's {kind}: {answer.status_code}"
        for method, route, kind in asked
        if (
            answer := ask(client, method, route, EVERY[route], {**theirs, kind: ours[kind]})
        ).status_code
        != 404
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("asker", [Asker.NOBODY, Asker.OWNER])
def test_the_admin_is_only_for_who_keeps_the_installation(
    asker: Asker, small: tuple[Company, Mapping[str, object]], sign_in: SignIn
) -> None:
    client = browser_of(asker, small[0], "", sign_in)
    places = {"object_id": 1, "content_type_id": 1, "app_label": "finishing"}
    routes = [route for route in admin_routes() if "(" not in route]
    assert len(routes) > 100
    for route in routes:
        answer = client.get(filled(route, places))
        if route not in {"admin/login/", "admin/jsi18n/", "admin/logout/"}:
            assert answer.status_code == 302, route
            assert answer.headers["Location"].startswith("/admin/login/"), route


def answers(asker: Asker, method: str, route: str, may: May) -> frozenset[int]:
    """Return the statuses of which this asker is to get one."""
    needs = may.look if method == "GET" else may.write
    granted = may.shown if method == "GET" else may.written
    if needs is None:
        return frozenset({401, 403, 405} if route in RESOURCES else {405})
    known = asker not in TOKENS or route in RESOURCES  # to pages a token is nobody
    if needs in {OPEN, SECRET} or (known and holds(asker, needs, may)):
        return granted
    if asker in {Asker.NOBODY, Asker.CREW_LINK} or not known:
        return frozenset({401} if route in RESOURCES else {302})
    return frozenset({403})


def holds(asker: Asker, right: str, may: May) -> bool:
    """Return whether somebody has a right, and what else the address asks for."""
    held: frozenset[str] = COMES_WITH[TOKENS[asker]] if asker in TOKENS else rights_of(asker)
    asked = {right, may.look, may.also} - {None, OPEN, SECRET}
    return asked <= held


def ask(
    client: Client, method: str, route: str, may: May, values: Mapping[str, object]
) -> HttpResponseBase:
    """Ask at an address as it is written in the lists."""
    secret = values["feed_secret"] if route.startswith("feeds/") else values["page_secret"]
    address = filled(route, {**values, "secret": secret, **may.parts})
    if method == "GET":
        return taken_back(client, lambda: client.get(address))
    if route in RESOURCES:
        json = "application/json"
        return taken_back(client, lambda: client.post(address, may.sent or [], content_type=json))
    return taken_back(client, lambda: client.post(address, may.sent))


def taken_back[R](client: Client, asked: Callable[[], R]) -> R:
    """Return an answer, with whatever was changed by asking as it was before."""
    cookies = deepcopy(client.cookies)
    around = transaction.atomic()
    around._from_testcase = True  # type: ignore[attr-defined]  # publishing is nested else
    with around:
        answer = asked()
        transaction.set_rollback(True)
    client.cookies = cookies
    return answer
