"""What every request passes first, and every answer last."""

import logging
from collections.abc import Callable, Sequence
from time import monotonic
from typing import Final

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.access import ADMITTED, Role, visitor
from api.doors.addresses import Asker, asker, host_name, is_public
from api.doors.book import Book, Doer
from api.doors.headers import headers_for
from api.doors.limits import Allowance, bounded
from api.errors import AccessError, TooManyError, refusal
from calc.errors import WormtubError

log = logging.getLogger(__name__)

SAFE_METHODS: Final = frozenset({"GET", "HEAD", "OPTIONS"})
ASK_AGAIN_S: Final = 5.0  # how long a stream goes on after whoever follows it was signed out
SAY_AGAIN_S: Final = 600.0
PLAIN_PORT: Final = (
    "This connection comes over the internet and is not encrypted, so nothing is shown: "
    "a plain port of Wormtub must not be open to the internet. Close it, and come by HTTPS or "
    "through a private network."
)


class PlainPortError(AccessError):
    """Somebody comes over the internet without encryption."""


class Door:
    """Refuses addresses and origins that are not ours, and puts the headers on every answer.

    The Host check stops a hostile page whose own name was made to point here; the Origin check
    stops one that writes blindly across origins. Programs send no Origin and pass.
    """

    def __init__(
        self, app: ASGIApp, *, known_host: Callable[[str], bool], trusted: Sequence[str] = ()
    ) -> None:
        self.app = app
        self.known_host = known_host
        self.trusted = trusted
        self.allowance = Allowance()
        self._said_s = -SAY_AGAIN_S

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let one connection through, or answer it here."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        asks = asker(scope, self.trusted)
        problem = self._problem(scope, Headers(scope=scope), asks)
        if isinstance(problem, PlainPortError):
            await self._say(scope, asks.address)
        inner = refusal(problem) if problem else self.app
        await inner(scope, bounded(receive, scope["path"]), Sending(scope, send))

    def _problem(self, scope: Scope, headers: Headers, asks: Asker) -> WormtubError | None:
        if not asks.secure and is_public(scope, asks.address):
            return PlainPortError(PLAIN_PORT)
        wait_s = 0.0 if asks.at_machine else self.allowance.wait_s(asks.bucket, monotonic())
        if wait_s:
            return TooManyError("Too much was asked at once from here; wait a moment.", wait_s)
        host = headers.get("host", "")
        if not self.known_host(host_name(host)):
            return AccessError(
                f'"{host[:100]}" is not an address of this service; '
                "open it by the address it printed when it started."
            )
        if scope["method"] not in SAFE_METHODS and not same_origin(headers):
            return AccessError(
                "This change was sent by a page of another site and was refused; "
                "make it on the page Wormtub itself serves."
            )
        return None

    async def _say(self, scope: Scope, address: str) -> None:
        """Tell the owner, in the log and among the events, but not for every try of a stranger."""
        if monotonic() - self._said_s < SAY_AGAIN_S:
            return
        self._said_s = monotonic()
        log.warning("Refused %s: a plain port of this service is open to the internet", address)
        book: Book = scope["app"].state.doors.book
        await run_in_threadpool(book.noted, "plain connection from the internet", Doer("", address))


class Sending:
    """Puts the headers on an answer, and ends it where it lasts longer than its welcome."""

    def __init__(self, scope: Scope, send: Send) -> None:
        self.scope = scope
        self.send = send
        self.asked_s = monotonic()
        self.ended = False

    async def __call__(self, message: Message) -> None:
        """Send one part of the answer."""
        if self.ended:
            return
        if message["type"] == "http.response.start":
            self._put_headers(MutableHeaders(scope=message))
        elif monotonic() - self.asked_s > ASK_AGAIN_S and not await self._still_welcome():
            self.ended = True  # the server then tells the stream that the other end has left
            message = {"type": "http.response.body", "body": b"", "more_body": False}
        await self.send(message)

    def _put_headers(self, headers: MutableHeaders) -> None:
        path = self.scope["path"]
        for name, value in headers_for(path, headers.get("content-type", "")).items():
            headers.setdefault(name, value)
        if path.startswith("/api/"):
            headers.setdefault("cache-control", "no-store")  # it is old at once

    async def _still_welcome(self) -> bool:
        self.asked_s = monotonic()
        wanted: Role = self.scope.get(ADMITTED, Role.ANYONE)
        return (await visitor(HTTPConnection(self.scope))).role >= wanted


def same_origin(headers: Headers) -> bool:
    """Say whether a request comes from our own page, or from no page at all."""
    origin = headers.get("origin")
    if origin is not None:
        return origin.lower().partition("://")[2] == headers.get("host", "").lower() != ""
    return headers.get("sec-fetch-site", "none") in {"same-origin", "none"}
