"""Addresses that may be sent to."""

import pytest

from finishing.config.hosts import allowed_hosts
from finishing.config.reader import Reader
from scheduling.services.addresses import address_faults, host_of

ALLOWED = allowed_hosts(Reader({"HOSTS": "hooks.example, hooks.example:8443"}), "HOSTS")


@pytest.mark.parametrize(
    ("address", "codes"),
    [
        ("https://hooks.example/a?b=c", []),
        ("https://HOOKS.example:8443/", []),
        ("http://hooks.example/", ["not_https", ]),
        ("https://other.example/", ["host_not_allowed"]),
        ("https://hooks.example:99/", ["host_not_allowed"]),
        ("https://hooks.example.evil.example/", ["host_not_allowed"]),
        ("https://hooks.example@evil.example/", ["sign_in_inside", "host_not_allowed"]),
        ("https://a:b@hooks.example/", ["sign_in_inside"]),
        ("http://a@other.example/", ["not_https", "sign_in_inside", "host_not_allowed"]),
        ("https://hooks.example\\@evil.example/", ["not_an_address"]),
        ("https://hooks.example/\r\nX: y", ["not_an_address"]),
        ("https://hooks.exampl\N{LATIN SMALL LETTER E WITH ACUTE}/", ["not_an_address"]),
        ("https:///path", ["not_an_address"]),
        ("https://hooks.example:port/", ["not_an_address"]),
        ("https://hooks.example/" + "a" * 500, ["not_an_address"]),
        ("hooks.example", ["not_an_address"]),
        ("", ["not_an_address"]),
    ],
)  # fmt: skip
def test_all_that_is_wrong_with_an_address(address: str, codes: list[str]) -> None:
    assert list(address_faults(address, ALLOWED)) == codes


def test_the_host_is_what_may_be_shown() -> None:
    assert host_of("https://hooks.example:8443/secret") == "hooks.example"
    assert host_of("https://[") == ""
