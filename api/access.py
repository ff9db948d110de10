"""Who may do what, and what the service lets through its door.

There is no sign-in yet. Whoever sits at the machine itself owns the house; whoever comes from
elsewhere, where the service was told to listen there at all, may watch and change nothing.
`visitor` is the one place that decides it, and the place where a sign-in will be asked for.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum
from http import HTTPStatus
from ipaddress import ip_address
from socket import gethostname
from typing import Annotated
from urllib.parse import urlsplit

from fastapi import Depends, params
from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.errors import AccessError, refusal


class Role(IntEnum):
    """What a visitor may do; each role may do all that the ones before it may."""

    ANYONE = 0
    WATCH = 1
    OPERATE = 2
    OWN = 3


@dataclass(frozen=True, slots=True)
class Visitor:
    """Whoever asks: the name their entries are kept under, and what they may do."""

    name: str
    role: Role


def visitor(connection: HTTPConnection) -> Visitor:
    """Say who asks, from where the connection comes and the name it was opened by."""
    host = host_name(connection.headers.get("host", ""))
    if is_loopback(connection.client.host if connection.client else "") and is_loopback(host):
        return Visitor("at the machine", Role.OWN)
    return Visitor("from elsewhere", Role.WATCH)


Asking = Annotated[Visitor, Depends(visitor)]


@dataclass(frozen=True)
class RoleCheck:
    """Refuses a visitor whose role is below the one a route declares."""

    role: Role

    def __call__(self, asking: Asking) -> Visitor:
        """Let the visitor in, or say where the thing asked for can be done."""
        if asking.role < self.role:
            raise AccessError(
                "From elsewhere Wormtub can be watched but not changed; "
                "open the page on the machine it runs on to make this change."
            )
        return asking


def needs(role: Role) -> params.Depends:
    """Return the dependency by which a router or a route declares the role it needs."""
    dependency: params.Depends = Depends(RoleCheck(role))
    return dependency


# plotly.js finds its style sheet linked and draws with the CSSOM, which no policy restricts, so
# nothing inline is needed. Images it makes of a chart are data: and blob: addresses.
CONTENT_SECURITY_POLICY = (
    "default-src 'none'; "
    "script-src 'self'; "
    "style-src 'self'; "
    "img-src 'self' data: blob:; "
    "font-src 'self'; "
    "connect-src 'self'; "
    "manifest-src 'self'; "
    "worker-src 'self'; "
    "base-uri 'none'; "
    "form-action 'self'; "
    "frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": CONTENT_SECURITY_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",  # frame-ancestors for browsers that do not know it
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
MOST_BODY = 256 * 1024  # bytes; the largest request is a form
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
HOME_DOMAINS = ("local", "lan", "home", "internal", "home.arpa")  # never public: RFC 6762, 8375


class Door:
    """Refuses addresses and origins that are not ours, and puts the headers on every answer.

    The Host check stops a hostile page whose own name was made to point here; the Origin check
    stops one that writes blindly across origins. Programs send no Origin and pass.
    """

    def __init__(self, app: ASGIApp, *, known_host: Callable[[str], bool]) -> None:
        self.app = app
        self.known_host = known_host

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let one connection through, or answer it here."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                if scope["path"].startswith("/api/"):
                    headers.setdefault("cache-control", "no-store")  # it is old at once
            await send(message)

        problem = self._problem(scope["method"], Headers(scope=scope))
        inner = refusal(problem) if problem else self.app
        await inner(scope, bounded(receive), send_with_headers)

    def _problem(self, method: str, headers: Headers) -> AccessError | None:
        host = headers.get("host", "")
        if not self.known_host(host_name(host)):
            return AccessError(
                f'"{host[:100]}" is not an address of this service; '
                "open it by the address it printed when it started."
            )
        if method not in SAFE_METHODS and not same_origin(headers):
            return AccessError(
                "This change was sent by a page of another site and was refused; "
                "make it on the page Wormtub itself serves."
            )
        return None


def same_origin(headers: Headers) -> bool:
    """Say whether a request comes from our own page, or from no page at all."""
    origin = headers.get("origin")
    if origin is not None:
        return origin.lower().partition("://")[2] == headers.get("host", "").lower() != ""
    return headers.get("sec-fetch-site", "none") in {"same-origin", "none"}


def bounded(receive: Receive) -> Receive:
    """Take a body only up to the largest that is needed anywhere."""
    taken = 0

    async def receive_bounded() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > MOST_BODY:
            raise HTTPException(HTTPStatus.REQUEST_ENTITY_TOO_LARGE)
        return message

    return receive_bounded


def host_name(host: str) -> str:
    """Return the name in a Host header, without port, brackets and trailing dot."""
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""
    return name.rstrip(".")


def is_loopback(name: str) -> bool:
    """Say whether a name or address means this machine and no other."""
    try:
        return ip_address(name).is_loopback
    except ValueError:
        return name == "localhost" or name.endswith(".localhost")  # RFC 6761


def is_own_name(name: str) -> bool:
    """Say whether a name can only be ours: an address, or a name no public DNS answers for."""
    try:
        ip_address(name)
    except ValueError:
        own = gethostname().lower()
        return (
            is_loopback(name)
            or name in {own, own.partition(".")[0]}
            or name.endswith(tuple(f".{domain}" for domain in HOME_DOMAINS))
        )
    return True


def known_hosts(bound_to: str) -> Callable[[str], bool]:
    """Return the check of Host headers for the address the service listens on."""
    return is_loopback if is_loopback(bound_to) else is_own_name
