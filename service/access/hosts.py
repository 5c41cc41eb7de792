"""Under which names this gylewatch may be addressed, and who stands before it.

A page of another site can have its own name point to this machine (DNS rebinding); the Host header then
still carries that name. An address in figures cannot be made to point elsewhere, so the one that the request
arrived at is always ours.
"""

import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

LABEL = r"[a-z0-9_]([a-z0-9_-]{0,61}[a-z0-9_])?"
NAME = re.compile(rf"{LABEL}(\.{LABEL})*")
HOST = re.compile(r"(?:\[(?P<v6>[0-9a-f:.]+)\]|(?P<name>[^\[\]:]+))(?::(?P<port>\d{1,5}))?")

Network = IPv4Network | IPv6Network


def host_of(header: str) -> str | None:
    """The name or address in a Host header, in lower case, without port; None when it is malformed."""
    found = HOST.fullmatch(header.strip().lower())
    if found is None:
        return None
    name = found["v6"] or found["name"].removesuffix(".")
    return name if is_address(name) or (found["v6"] is None and NAME.fullmatch(name)) else None


def is_address(text: str) -> bool:
    """Whether it is an IP address."""
    try:
        ip_address(text)
    except ValueError:
        return False
    return True


def is_loopback(host: str) -> bool:
    """Whether a host name or address can only mean this machine."""
    if host == "localhost":
        return True
    try:
        address = ip_address(host)
    except ValueError:
        return False
    mapped = address.ipv4_mapped if isinstance(address, IPv6Address) else None
    return (mapped or address).is_loopback


def machine_names(hostname: str) -> frozenset[str]:
    """The names under which a home network finds a machine: its host name, and that with ``.local``."""
    name = hostname.strip().lower().removesuffix(".")
    if not NAME.fullmatch(name) or is_address(name):
        return frozenset()
    return frozenset({name, f"{name.partition('.')[0]}.local"})


def is_ours(host: str, arrived_at: str, names: Collection[str]) -> bool:
    """Whether a request for this host (as `host_of` gives it) is meant for us.

    arrived_at: the address of our own end of the connection.
    """
    if is_loopback(host) or host in names:
        return True
    return is_address(host) and _plain(host) == _plain(arrived_at)


def _plain(address: str) -> object:
    try:
        found = ip_address(address.split("%")[0])
    except ValueError:
        return address
    mapped = found.ipv4_mapped if isinstance(found, IPv6Address) else None
    return mapped or found


def networks(texts: Iterable[str]) -> tuple[Network, ...]:
    """Addresses and networks as they are set; ValueError in words for anything else."""
    found: list[Network] = []
    for text in texts:
        try:
            found.append(ip_network(text))
        except ValueError:
            raise ValueError(
                f"must be addresses or networks such as 127.0.0.1 or 10.0.0.0/24, which {text!r} is not"
            ) from None
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Asked:
    """Where a request came from and how it was asked, after what trusted proxies said of it."""

    peer: str
    scheme: str
    host: str | None


def is_trusted(peer: str, proxies: Collection[Network]) -> bool:
    """Whether what this peer says of others is believed."""
    try:
        found = ip_address(peer.split("%")[0])
    except ValueError:
        return False
    mapped = found.ipv4_mapped if isinstance(found, IPv6Address) else None
    return any((mapped or found) in network for network in proxies)


def asked_through(
    peer: str, scheme: str, proxies: Collection[Network], forwarded: Sequence[tuple[str, str]]
) -> Asked:
    """What the X-Forwarded headers of a trusted proxy say; ours are the values nearest to us.

    forwarded: header names in lower case with their values, in order. The address is the last one in
    X-Forwarded-For that is not itself a trusted proxy: what stands further left anybody could have written.
    """
    given: dict[str, list[str]] = {}
    for name, value in forwarded:
        given.setdefault(name, []).extend(part.strip() for part in value.split(","))
    address = peer
    for one in reversed(given.get("x-forwarded-for", [])):
        bare = one.removeprefix("[").partition("]")[0] if one.startswith("[") else one
        if one.count(":") == 1:
            bare = one.partition(":")[0]
        if not is_trusted(address, proxies) or not is_address(bare):
            break
        address = bare
    schemes = given.get("x-forwarded-proto", [""])
    hosts = given.get("x-forwarded-host", [""])
    said = schemes[-1].lower()
    return Asked(address, said if said in ("http", "https") else scheme, hosts[-1] or None)
