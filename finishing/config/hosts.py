"""Hosts that the environment lets this program send to."""

import re
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network

from finishing.config.meant_addresses import Address, addresses_meant
from finishing.config.reader import Reader

HTTPS_PORT = 443
_HOST = re.compile(r"(?P<name>[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?)(?::(?P<port>[0-9]{1,5}))?")


@dataclass(frozen=True)
class AllowedHosts:
    """Hosts, each with the one port that is meant, and networks that are not public but meant."""

    hosts: frozenset[tuple[str, int]] = frozenset()
    networks: tuple[IPv4Network | IPv6Network, ...] = ()

    def names(self, host: str, port: int) -> bool:
        """Return whether a host may be sent to, at this port."""
        return (host.lower(), port) in self.hosts

    def lets(self, address: str) -> bool:
        """Return whether an address that a host has may be connected to: public ones, and those
        of the networks named. An IPv6 address that stands for an IPv4 one counts as that."""
        found = ip_address(address)
        if any(found in network for network in self.networks):
            return True
        return all(self._lets(meant) for meant in addresses_meant(found))

    def _lets(self, address: Address) -> bool:
        public = address.is_global and not address.is_multicast
        return public or any(address in network for network in self.networks)


def allowed_hosts(reader: Reader, name: str) -> AllowedHosts:
    """Return what a variable lists, with commas between: hosts (``hooks.example.org``, or with a
    port of their own ``hooks.example.org:8443``) and networks (``10.1.0.0/16``)."""
    hosts, networks = set(), []
    for item in reader.text(name).lower().split(","):
        text = item.strip()
        if not text:
            continue
        if (network := _network(text)) is not None:
            networks.append(network)
        elif found := _HOST.fullmatch(text):
            hosts.add((found["name"], int(found["port"] or HTTPS_PORT)))
        else:
            reader.faults.append(f"{name}: {text[:60]!r} is neither a host nor a network")
    return AllowedHosts(frozenset(hosts), tuple(networks))


def _network(text: str) -> IPv4Network | IPv6Network | None:
    try:
        return ip_network(text)
    except ValueError:
        return None
