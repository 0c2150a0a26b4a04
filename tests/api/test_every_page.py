"""No address is forgotten where all pages are looked at."""

from datetime import date
from uuid import UUID

import pytest
from django.urls import reverse

from api.web.urls import urlpatterns
from tests.api.conftest import SignIn
from tests.api.every_page import FORM, NO_PAGES, PAGES
from tests.factories import make_company

ROUTES = {pattern.name: pattern.pattern for pattern in urlpatterns}
SOME = {
    "DayConverter": date(2026, 3, 2),
    "IntConverter": 1,
    "SlugConverter": "some",
    "StringConverter": "some",
}


def test_every_address_is_looked_at_or_said_to_be_no_page() -> None:
    assert PAGES.keys() | NO_PAGES.keys() == ROUTES.keys(), (
        "a page has a line in PAGES of tests/api/every_page.py, any other address in NO_PAGES"
    )
    assert PAGES.keys().isdisjoint(NO_PAGES)


@pytest.mark.parametrize("name", [name for name, why in NO_PAGES.items() if why == FORM])
def test_what_takes_a_form_shows_no_page(name: str, sign_in: SignIn) -> None:
    converters = ROUTES[name].converters
    arguments = {
        key: SOME.get(type(converter).__name__, UUID(int=1))
        for key, converter in converters.items()
    }
    answer = sign_in(make_company()).get(reverse(f"web:{name}", kwargs=arguments))
    assert answer.status_code == 405
