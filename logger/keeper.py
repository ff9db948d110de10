"""Commits scans in order, in a thread of its own: a slow card never delays a reading."""

import logging
import time
from collections import deque
from collections.abc import Callable
from threading import Condition, Thread
from typing import Final, Protocol

from logger.errors import StoreError
from logger.reading import Scan

log = logging.getLogger(__name__)

CAPACITY: Final = 10_800  # scans: three hours at one a second, some 10 MB with eight series
RETRY_S: Final = 1.0
STRETCH: Final = 600  # slots: the store seals when one of these is complete

Note = Callable[[], None]  # something else to be written, in its turn between two scans


class Writer(Protocol):
    """What the keeper asks of the store's ScanWriter."""

    def append(self, scan: Scan) -> None:
        """Commit one scan, or raise StoreError with nothing written."""
        ...

    def seal_due(self, now_slot: int) -> int:
        """Seal what is complete and say how many chunks that made."""
        ...


class Keeper:
    """A bounded queue in memory before the file, and the thread that drains it."""

    def __init__(
        self,
        writer: Writer,
        stored: Callable[[Scan], None],
        *,
        capacity: int = CAPACITY,
        retry_s: float = RETRY_S,
    ) -> None:
        self._writer, self._stored = writer, stored
        self._capacity, self._retry_s = capacity, retry_s
        self._queue: deque[Scan | Note] = deque()
        self._changed = Condition()
        self._give_up_at: float | None = None  # on the monotonic clock; None while running
        self._failure: Exception | None = None
        self._refused = False
        self._sealed_stretch = -1
        self.dropped = 0
        self._thread = Thread(target=self._run, name="keeper", daemon=True)
        self._thread.start()

    @property
    def waiting(self) -> int:
        """How many entries are not in the file yet."""
        return len(self._queue)

    def put(self, entry: Scan | Note) -> None:
        """Queue one entry; where the queue is full its oldest scan is dropped, and counted."""
        with self._changed:
            if self._failure is not None:
                raise self._failure
            self._queue.append(entry)
            if len(self._queue) > self._capacity:
                self._drop_oldest()
            self._changed.notify_all()

    def close(self, within_s: float) -> int:
        """Write what waits, for as long as given; returns how many entries are left over."""
        with self._changed:
            self._give_up_at = time.monotonic() + within_s
            self._changed.notify_all()
        self._thread.join(within_s + self._retry_s)
        if self._failure is not None:
            raise self._failure
        return self.waiting

    def _run(self) -> None:
        try:
            while (entry := self._next()) is not None:
                self._write(entry)
        except Exception as error:
            log.exception("The keeper stopped.")
            self._failure = error  # the loop's thread raises it at its next scan

    def _next(self) -> Scan | Note | None:
        with self._changed:
            self._changed.wait_for(lambda: self._queue or self._give_up_at is not None)
            late = self._give_up_at is not None and time.monotonic() > self._give_up_at
            return self._queue[0] if self._queue and not late else None

    def _write(self, entry: Scan | Note) -> None:
        try:
            self._commit(entry)
        except StoreError as error:
            self._wait_after(error)
            return
        if self._refused:
            log.warning("The store takes scans again; %d wait in memory.", self.waiting - 1)
            self._refused = False
        with self._changed:
            self._queue.popleft()
        if isinstance(entry, Scan):
            self._stored(entry)
            self._seal(entry.slot)

    def _commit(self, entry: Scan | Note) -> None:
        if isinstance(entry, Scan):
            self._writer.append(entry)
        else:
            entry()

    def _wait_after(self, error: StoreError) -> None:
        """Say once that the store refuses, and leave it alone for a while."""
        if not self._refused:
            log.error("%s Scans wait in memory until it can be written again.", error)
            self._refused = True
        with self._changed:
            closing = self._give_up_at is not None
            self._changed.wait_for(
                lambda: not closing and self._give_up_at is not None, self._retry_s
            )

    def _seal(self, slot: int) -> None:
        """Seal when a stretch is complete and no scan waits; what fails is due again."""
        if self._queue or slot // STRETCH == self._sealed_stretch:
            return
        try:
            self._writer.seal_due(slot)
        except StoreError as error:
            log.warning("Sealing waits: %s", error)
        else:
            self._sealed_stretch = slot // STRETCH

    def _drop_oldest(self) -> None:
        """Make room; the first entry may be on its way to the file, and notes are kept."""
        scans = (i for i, entry in enumerate(self._queue) if i > 0 and isinstance(entry, Scan))
        if (oldest := next(scans, None)) is None:
            return
        del self._queue[oldest]
        self.dropped += 1
        if self.dropped == 1 or self.dropped % 600 == 0:
            log.error("Memory is full: %d scans were lost since the start.", self.dropped)
