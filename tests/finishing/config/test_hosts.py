"""Which hosts and addresses the environment lets this program send to."""

from ipaddress import ip_address

import pytest

from finishing.config.hosts import AllowedHosts, allowed_hosts
from finishing.config.meant_addresses import addresses_meant
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
        "::10.1.2.3",
        "64:ff9b::10.1.2.3",
        "64:ff9b::169.254.169.254",
        "64:ff9b:1::10.1.2.3",
        "64:ff9b:1::",
        "64:ff9b:1:a01:2:300::",
        "64:ff9b:1:a:1:203::",
        "64:ff9b:1:0:a:102:300:0",
        "64:ff9b:1:a01:2:300:808:808",
        "2001:0:4136:e378:8000:63bf:f5fe:fdfc",
        "2001:0:a01:203:8000:63bf:f7f7:f7f7",
    ],
)
def test_private_addresses_are_refused(address: str) -> None:
    """RFC 6890's special-purpose registries, and IPv4 ones in IPv6 clothes: mapped and compatible
    (RFC 4291), 6to4 (RFC 3056), translated (RFC 6052, 2.2 and RFC 8215, with each length of a
    prefix), Teredo, whose client's address is kept inverted (RFC 4380, 4)."""
    assert not listed("hooks.example").lets(address)


@pytest.mark.parametrize(
    "address",
    [
        "8.8.8.8",
        "2606:4700:4700::1111",
        "::ffff:8.8.8.8",
        "2002:808:808::1",
        "64:ff9b::8.8.8.8",
        "64:ff9b:1::8.8.8.8",
        "64:ff9b:1:808:8:800::",
        "2001:0:4136:e378:8000:63bf:f7f7:f7f7",
    ],
)
def test_public_addresses_are_not(address: str) -> None:
    assert listed("").lets(address)


def test_a_private_network_that_is_listed_is_meant() -> None:
    hosts = listed("hooks.example, 10.1.0.0/16, ::1")
    assert hosts.lets("10.1.2.3")
    assert hosts.lets("::ffff:10.1.2.3")
    assert hosts.lets("::1")
    assert not hosts.lets("10.2.0.1")


def test_a_translators_own_network_may_be_listed_as_a_whole() -> None:
    hosts = listed("64:ff9b:1::/48, 10.1.0.0/16")
    assert hosts.lets("64:ff9b:1:a01:2:300::")
    assert hosts.lets("64:ff9b::10.1.2.3")
    assert not hosts.lets("64:ff9b::10.2.0.1")


@pytest.mark.parametrize(
    ("text", "inside"),
    [
        ("2001:db8:122:344::", []),
        ("64:ff9b::192.0.2.33", ["192.0.2.33"]),
        ("64:ff9b:1:c000:2:2100::", ["192.0.2.33"]),
        ("64:ff9b:1:c0:0:221::", ["192.0.2.33"]),
        ("64:ff9b:1:0:c0:2:2100:0", ["192.0.2.33"]),
    ],
)
def test_the_address_inside_a_translated_one(text: str, inside: list[str]) -> None:
    """RFC 6052, 2.4: 192.0.2.33 behind prefixes of each length, here in 64:ff9b:1::/48."""
    meant = {str(address) for address in addresses_meant(ip_address(text))}
    assert set(inside) <= meant
    assert inside or meant == {text}


def test_what_is_neither_is_refused_all_at_once() -> None:
    allowed_hosts(reader := Reader({"HOSTS": "https://a.example, ok.example, b_c"}), "HOSTS")
    assert reader.faults == [
        "HOSTS: 'https://a.example' is neither a host nor a network",
        "HOSTS: 'b_c' is neither a host nor a network",
    ]
