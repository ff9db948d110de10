"""The change feed: new scans, handed on as soon as the logger has committed them."""

import logging
from collections import deque
from collections.abc import Callable, Sequence
from threading import Event, Thread
from time import monotonic
from typing import Final, Protocol

from logger.errors import StoreError
from logger.reading import Scan

log = logging.getLogger(__name__)

SELDOM_S: Final = 0.05
OFTEN_S: Final = 0.002  # while a scan is due
EARLY_S: Final = 0.015  # before the moment it is due
LATE_S: Final = 0.25  # and after it: the logger's own jitter on a busy machine
RETRY_S: Final = 1.0
JUDGED: Final = 8
BATCH: Final = 1000


class Source(Protocol):
    """What the feed needs of a store's reader."""

    def change_token(self) -> int:
        """Return a number that differs once another connection has committed."""

    def after(self, slot: int, limit: int) -> Sequence[Scan]:
        """Return the scans after a slot, oldest first, at most so many."""


class ChangeFeed:
    """A thread that watches one connection's change token and fetches what is new.

    A thread, because a commit may make a reader wait, and the event loop must not. Every scan is
    handed on once and in order, however long the feed could not read.
    """

    def __init__(
        self,
        source: Source,
        deliver: Callable[[Sequence[Scan]], None],
        changed: Callable[[], None],
        *,
        after_slot: int,
    ) -> None:
        self._source = source
        self._deliver = deliver
        self._changed = changed
        self._slot = after_slot
        self._token: int | None = None
        self._failing = False
        self._due_s: float | None = None  # on the monotonic clock: when the next scan may come
        self._lags_s: deque[float] = deque(maxlen=JUDGED)  # of the last scans, behind their slots
        self._stopped = Event()
        self._thread = Thread(target=self._run, name="changes", daemon=True)

    def start(self) -> None:
        """Begin to watch."""
        self._thread.start()

    def stop(self) -> None:
        """End the watch and wait for the thread."""
        self._stopped.set()
        self._thread.join()

    def poll(self) -> None:
        """Hand on the scans committed since the last look, and say that something was."""
        token = self._source.change_token()
        if token == self._token:
            return
        while scans := self._source.after(self._slot, BATCH):
            self._deliver(scans)
            self._slot = scans[-1].slot
            self._expect(scans[-1], monotonic())
        self._changed()
        self._token = token  # only now: a failed read is tried again

    def _run(self) -> None:
        while not self._stopped.wait(RETRY_S if self._failing else self._pause_s(monotonic())):
            try:
                self.poll()
            except Exception as error:  # noqa: BLE001 - the watch goes on, and says so
                self._note(failing=True, why=error)
            else:
                self._note(failing=False)

    def _expect(self, scan: Scan, seen_s: float) -> None:
        """Expect the next scan as soon after its slot as the quickest of the last few came."""
        self._lags_s.append(seen_s - scan.slot)
        self._due_s = scan.slot + scan.period_s + min(self._lags_s)

    def _pause_s(self, now_s: float) -> float:
        """Look often while the next scan is due, so that it is shown at once; else seldom."""
        if self._due_s is None or now_s > self._due_s + LATE_S:
            return SELDOM_S
        until_due_s = self._due_s - EARLY_S - now_s
        return min(SELDOM_S, max(OFTEN_S, until_due_s))

    def _note(self, *, failing: bool, why: Exception | None = None) -> None:
        if failing and not self._failing:
            known = isinstance(why, StoreError)
            log.error(
                "New scans cannot be read; trying again every second: %s",
                why,
                exc_info=None if known else why,
            )
        elif self._failing and not failing:
            log.info("New scans can be read again.")
        self._failing = failing
