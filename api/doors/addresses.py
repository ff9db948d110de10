"""Where a connection comes from, by which name it was opened, and whether both are ours."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address, ip_network
from socket import gethostname
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.types import Scope

Address = IPv4Address | IPv6Address

HOME_DOMAINS: Final = ("local", "lan", "home", "internal", "home.arpa")  # RFC 6762, 8375: never
FORWARDED: Final = (
    "x-forwarded-for",
    "x-forwarded-host",
    "forwarded",
    "x-real-ip",
    "via",
)  # public
ONE_HOUSE: Final = 64  # bits of an IPv6 address that a network shares, RFC 4291


@dataclass(frozen=True, slots=True)
class Asker:
    """Whoever holds the other end: their address, and how they came."""

    address: str
    secure: bool  # over TLS, to us or to a proxy we trust
    at_machine: bool

    @property
    def bucket(self) -> str:
        """What is counted together: an IPv6 host has a whole network of addresses to itself."""
        known = address_of(self.address)
        if isinstance(known, IPv6Address):
            return str(IPv6Network((known, ONE_HOUSE), strict=False))
        return self.address


def asker(scope: Scope, trusted: Sequence[str]) -> Asker:
    """Say who asks. What a proxy says of them is believed only from the proxies we trust."""
    headers = Headers(scope=scope)
    peer = plain(scope["client"][0] if scope.get("client") else "")
    secure = scope.get("scheme") == "https"
    passed_on = any(name in headers for name in FORWARDED)
    if passed_on and is_trusted(peer, trusted):
        said = headers.get("x-forwarded-proto", "").strip().lower()
        return Asker(_first_untrusted(headers, peer, trusted), said == "https", at_machine=False)
    here = (
        is_loopback(peer)
        and is_loopback(host_name(headers.get("host", "")))
        and not passed_on
        and scope.get("http_version") != "1.0"  # spoken by proxies that say nothing of themselves
    )
    return Asker(peer, secure, here)


def _first_untrusted(headers: Headers, peer: str, trusted: Sequence[str]) -> str:
    """Walk back through the proxies: the first that is not one of ours is who asked."""
    chain = ",".join(headers.getlist("x-forwarded-for")).split(",")
    for one in reversed([part.strip() for part in chain]):
        if address_of(one) is None:
            return peer
        if not is_trusted(one, trusted):
            return plain(one)
    return peer


def is_trusted(address: str, trusted: Sequence[str]) -> bool:
    """Say whether an address is one of the proxies named in the settings."""
    known = address_of(address)
    return known is not None and any(
        known in network for network in map(ip_network, trusted) if network.version == known.version
    )


def is_public(scope: Scope, address: str) -> bool:
    """Say whether an address is out on the internet; an IPv6 neighbour of ours is not."""
    known = address_of(address)
    if known is None or not known.is_global:
        return False
    own = address_of(scope["server"][0] if scope.get("server") else "")
    if isinstance(known, IPv6Address) and isinstance(own, IPv6Address):
        return known not in IPv6Network((own, ONE_HOUSE), strict=False)
    return True


def address_of(text: str) -> Address | None:
    """Read an address; one of IPv4 that arrives as IPv6 (RFC 4291, 2.5.5.2) is one of IPv4."""
    try:
        known = ip_address(text.partition("%")[0])
    except ValueError:
        return None
    return getattr(known, "ipv4_mapped", None) or known


def plain(text: str) -> str:
    """Write an address in its one form; what is none stays as it is."""
    known = address_of(text)
    return text[:100] if known is None else str(known)


def host_name(host: str) -> str:
    """Return the name in a Host header, without port, brackets and trailing dot."""
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""
    return name.rstrip(".")


def is_loopback(name: str) -> bool:
    """Say whether a name or address means this machine and no other."""
    known = address_of(name)
    if known is not None:
        return known.is_loopback
    return name == "localhost" or name.endswith(".localhost")  # RFC 6761


def is_own_name(name: str) -> bool:
    """Say whether a name can only be ours: an address, or a name no public DNS answers for."""
    if address_of(name) is not None:
        return True
    own = gethostname().lower()
    return (
        is_loopback(name)
        or name in {own, own.partition(".")[0]}
        or name.endswith(tuple(f".{domain}" for domain in HOME_DOMAINS))
    )


def known_hosts(bound_to: str, names: Sequence[str] = ()) -> Callable[[str], bool]:
    """Return the check of Host headers for the address the service listens on.

    A service on the loopback is reached by another name only through a proxy; `names` are those
    the settings add.
    """
    ours = is_loopback if is_loopback(bound_to) else is_own_name
    also = {name.lower() for name in names}
    return lambda name: ours(name) or name in also
