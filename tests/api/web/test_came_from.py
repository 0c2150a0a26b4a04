"""Where a request came from: nobody's word is taken but that of one's own proxies."""

import pytest
from django.test import Client, RequestFactory
from django.utils import timezone
from pytest_django import Settings

from api.web.came_from import address_of
from finishing.models import User
from finishing.services.sign_in_limits import MOST_TRIES, may_try
from tests.factories import make_company

PROXY = "10.0.0.2"


@pytest.mark.parametrize(
    ("proxies", "header", "found"),
    [
        (0, "203.0.113.7", PROXY),
        (1, "203.0.113.7", "203.0.113.7"),
        (1, "198.51.100.1, 203.0.113.7", "203.0.113.7"),
        (2, "198.51.100.1, 203.0.113.7, 10.0.0.3", "203.0.113.7"),
        (2, "203.0.113.7", PROXY),
        (1, "", PROXY),
        (1, "198.51.100.1, unknown", PROXY),
        (1, "203.0.113.7:4711", "203.0.113.7"),
        (1, "[2001:db8::1]:4711", "2001:db8::1"),
        (1, "2001:DB8:0::1", "2001:db8::1"),
        (1, "203.0.113.7,", PROXY),
    ],
)
def test_only_what_our_own_proxies_added_counts(
    settings: Settings, proxies: int, header: str, found: str
) -> None:
    settings.TRUSTED_PROXIES = proxies
    request = RequestFactory().get("/", REMOTE_ADDR=PROXY, HTTP_X_FORWARDED_FOR=header)
    assert address_of(request) == found


def test_without_the_header_or_a_request_there_is_the_connection_or_nothing(
    settings: Settings,
) -> None:
    settings.TRUSTED_PROXIES = 1
    assert address_of(RequestFactory().get("/", REMOTE_ADDR=PROXY)) == PROXY
    assert address_of(RequestFactory().get("/", REMOTE_ADDR="")) is None
    assert address_of(None) is None


def try_to_sign_in(forwarded: str) -> str:
    form = {"username": "ann@example.com", "password": "guess"}
    return (
        Client()
        .post("/sign-in/", form, REMOTE_ADDR=PROXY, HTTP_X_FORWARDED_FOR=forwarded)
        .content.decode()
    )


@pytest.mark.django_db
def test_tries_behind_a_proxy_are_counted_by_who_made_them(settings: Settings) -> None:
    """Making up what stands further left changes nothing, and others are not kept out."""
    settings.TRUSTED_PROXIES = 1
    User.objects.create_user("ann@example.com", "long enough words", company=make_company())
    for number in range(MOST_TRIES):
        assert "Too many" not in try_to_sign_in(f"198.51.100.{number}, 203.0.113.7")
    assert "Too many" in try_to_sign_in("198.51.100.99, 203.0.113.7")
    assert "Too many" not in try_to_sign_in("203.0.113.8")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("address", "as_often"), [("2001:db8:1:2:{:x}::{:x}", 5), ("2001:db8:1:{:x}::{:x}", 8)]
)
def test_all_addresses_of_one_network_count_as_one(address: str, as_often: int) -> None:
    """Of IPv6 the first 64 bits (RFC 4291, 2.5.1)."""
    tries = (
        may_try(account="ann", address=address.format(n, n), now=timezone.now()) for n in range(8)
    )
    assert sum(tries) == as_often
