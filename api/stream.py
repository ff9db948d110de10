"""Server-sent events to many watchers, each with a bounded queue.

The format is the HTML standard's, section 9.2 (server-sent events).
"""

import asyncio
from collections import deque
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from api.errors import BusyError

MOST_WATCHERS = 256
MOST_WAITING = 64  # events a watcher may be behind; about 30 kB of eight probes' scans
HEARTBEAT = b":\n\n"
RETRY = b"retry: 1000\n\n"


@dataclass(frozen=True, slots=True)
class EventId:
    """Where a watcher stands: the last scan's slot, and how many layouts there have been."""

    slot: int
    sequence: int

    def __str__(self) -> str:
        return f"{self.slot}.{self.sequence}"

    @classmethod
    def read(cls, text: str) -> "EventId | None":
        """Read an id that this service sent; None is any other text."""
        slot, dot, sequence = text.partition(".")
        if dot and text.isascii() and slot.isdecimal() and sequence.isdecimal() and len(text) <= 40:
            return cls(int(slot), int(sequence))
        return None


def event(name: str, data: bytes, at: EventId) -> bytes:
    """Write one event; its data must be a single line."""
    return b"event: %b\nid: %b\ndata: %b\n\n" % (name.encode(), str(at).encode(), data)


def load_again(at: EventId) -> bytes:
    """Write the event that asks a page to load everything afresh."""
    return event("load-again", b"{}", at)


class Watcher:
    """One page that listens, and the events it has not taken yet."""

    def __init__(self) -> None:
        self._waiting: deque[bytes] = deque()
        self._wake = asyncio.Event()
        self._dropped = False
        self._closed = False

    def offer(self, data: bytes, at: EventId) -> None:
        """Queue an event; a watcher too far behind is asked to load again instead."""
        if self._dropped:
            return
        if len(self._waiting) >= MOST_WAITING:
            self._waiting.clear()
            self._dropped = True
            data = load_again(at)
        self._waiting.append(data)
        self._wake.set()

    def close(self) -> None:
        """End the stream once what is queued has been taken."""
        self._closed = True
        self._wake.set()

    async def take(self) -> AsyncIterator[bytes]:
        """Yield what is queued, all that waits at once, until the stream is closed."""
        while True:
            await self._wake.wait()
            self._wake.clear()
            if self._waiting:
                data = b"".join(self._waiting)
                self._waiting.clear()
                self._dropped = False
                yield data
            if self._closed:
                return


class Hub:
    """All watchers. Lives on the event loop, as they do."""

    def __init__(self) -> None:
        self._watchers: set[Watcher] = set()
        self._closed = False

    def __len__(self) -> int:
        return len(self._watchers)

    @contextmanager
    def watching(self) -> Iterator[Watcher]:
        """Count a watcher in for as long as it listens."""
        watcher = Watcher()
        if self._closed:
            watcher.close()
        self._watchers.add(watcher)
        try:
            yield watcher
        finally:
            self._watchers.discard(watcher)

    def check_room(self) -> None:
        """Refuse a watcher too many."""
        if len(self._watchers) >= MOST_WATCHERS:
            raise BusyError(
                f"{MOST_WATCHERS} pages are watching already; close some that are not needed."
            )

    def broadcast(self, data: bytes, at: EventId) -> None:
        """Offer one event, written once, to every watcher."""
        for watcher in self._watchers:
            watcher.offer(data, at)

    def close(self) -> None:
        """End every stream, now and from now on, so that the service can stop."""
        self._closed = True
        for watcher in self._watchers:
            watcher.close()
