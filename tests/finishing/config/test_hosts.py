"""Which hosts and addresses the environment lets this program send to."""

import pytest

from finishing.config.hosts import AllowedHosts, allowed_hosts
from finishing.config.reader import Reader


def listed(text: str) -> AllowedHosts:
    return allowed_hosts(Reader({"HOSTS": text}), "HOSTS")


def test_nothing_listed_is_nowhere() -> None:
    assert not listed("").names("hooks.example", 443)


def test_a_host_is_listed_with_one_port() -> None:
    hosts = listed("Hooks.Example , local.example:8443")
    assert hosts.names("hooks.example", 443)
    assert hosts.names("HOOKS.example", 443)
    assert hosts.names("local.example", 8443)
    assert not hosts.names("local.example", 443)
    assert not hosts.names("hooks.example", 8443)
    assert not hosts.names("other.hooks.example", 443)


@pytest.mark.parametrize(
    "address",
    [
        "127.0.0.1",
        "10.1.2.3",
        "169.254.169.254",
        "100.64.0.1",
        "192.168.1.1",
        "0.0.0.0",
        "224.0.0.1",
        "255.255.255.255",
        "::1",
        "::",
        "fe80::1",
        "fd00::1",
        "ff02::1",
        "::ffff:10.1.2.3",
        "2002:0a01:0203::1",
    ],
)
def test_private_addresses_are_refused(address: str) -> None:
    """RFC 6890's special-purpose registries, and IPv4 ones in IPv6 clothes (RFC 4291, 3056)."""
    assert not listed("hooks.example").lets(address)


@pytest.mark.parametrize("address", ["8.8.8.8", "2606:4700:4700::1111", "::ffff:8.8.8.8"])
def test_public_addresses_are_not(address: str) -> None:
    assert listed("").lets(address)


def test_a_private_network_that_is_listed_is_meant() -> None:
    hosts = listed("hooks.example, 10.1.0.0/16, ::1")
    assert hosts.lets("10.1.2.3")
    assert hosts.lets("::ffff:10.1.2.3")
    assert hosts.lets("::1")
    assert not hosts.lets("10.2.0.1")


def test_what_is_neither_is_refused_all_at_once() -> None:
    allowed_hosts(reader := Reader({"HOSTS": "https://a.example, ok.example, b_c"}), "HOSTS")
    assert reader.faults == [
        "HOSTS: 'https://a.example' is neither a host nor a network",
        "HOSTS: 'b_c' is neither a host nor a network",
    ]
