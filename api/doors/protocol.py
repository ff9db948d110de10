"""Bounds on a connection before there is a request: slow heads, long heads, too many of them."""

from asyncio import Transport
from collections import Counter
from typing import Any, ClassVar, Final, cast

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from api.doors.addresses import Asker, is_loopback, is_trusted, plain

HEAD_S: Final = 6.0  # for the head of a request to arrive
MOST_HEAD: Final = 32 * 1024  # bytes
MOST_OF_ONE: Final = 64  # connections of one address; a browser keeps six, and a stream a page
MOST: Final = 512  # of all: below the 1024 files a process may have open by default


class BoundedProtocol(HttpToolsProtocol):
    """The server's protocol, which waits for nobody for ever."""

    trusted: tuple[str, ...] = ()  # proxies, whose connections are many people's
    open_of: ClassVar[Counter[str]] = Counter()
    _bucket: str | None = None
    _timer: Any = None
    _head = 0

    def connection_made(self, transport: Transport) -> None:  # type: ignore[override]
        """Begin, unless there are too many already."""
        super().connection_made(transport)
        peer = plain(self.client[0] if self.client else "")
        if len(self.connections) > MOST or not self._counted(peer):
            transport.abort()
            return
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """End, and count it."""
        self._arrived()
        if self._bucket is not None:
            self.open_of[self._bucket] -= 1
            if self.open_of[self._bucket] == 0:
                del self.open_of[self._bucket]
            self._bucket = None
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what came; a head that does not end is cut off."""
        super().data_received(data)
        if self._timer is None:
            return
        self._head += len(data)
        if self._head > MOST_HEAD and not self.transport.is_closing():
            self.send_400_response("The head of the request is too long.")

    def on_message_begin(self) -> None:
        """Begin a request's head."""
        super().on_message_begin()
        self._wait()

    def on_headers_complete(self) -> None:
        """End a request's head."""
        self._arrived()
        super().on_headers_complete()

    def _counted(self, peer: str) -> bool:
        if is_loopback(peer) or is_trusted(peer, self.trusted):
            return True
        bucket = Asker(peer, secure=False, at_machine=False).bucket
        if self.open_of[bucket] >= MOST_OF_ONE:
            return False
        self._bucket = bucket
        self.open_of[bucket] += 1
        return True

    def _wait(self) -> None:
        if self._timer is None:
            self._timer = self.loop.call_later(HEAD_S, self._too_slow)

    def _arrived(self) -> None:
        self._head = 0
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _too_slow(self) -> None:
        self._timer = None
        if not self.transport.is_closing():
            self.transport.close()


def bounded_for(trusted: tuple[str, ...]) -> type[HttpToolsProtocol]:
    """Return the protocol of one server."""
    made = type("Protocol", (BoundedProtocol,), {"trusted": trusted, "open_of": Counter()})
    return cast("type[HttpToolsProtocol]", made)
