"""Work that may block for ever, done on threads that a sweep can leave behind.

A read of a probe cannot be cancelled: the kernel answers when it answers. So each file that may
block has a lane, a thread that does one thing at a time. One thread thinks: it asks the lanes and
takes their answers until its time is up. A lane that has not answered by then stays busy, and is
asked nothing more until it has. There is at most one thread, and one open file, for each lane.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from queue import Empty, SimpleQueue
from threading import Thread
from time import monotonic
from typing import TypeVar

T = TypeVar("T")


class Lane:
    """A thread that does one blocking thing at a time; `busy` belongs to the asking thread."""

    def __init__(self, name: str) -> None:
        self.busy = False
        self._jobs: SimpleQueue[Callable[[], None] | None] = SimpleQueue()
        self._thread = Thread(target=self._work, name=name, daemon=True)
        self._thread.start()

    def start(self, job: Callable[[], None]) -> None:
        """Begin a job."""
        self._jobs.put(job)

    def close(self, patience_s: float = 1.0) -> None:
        """End the thread once its job is done; a stuck one ends with the process."""
        self._jobs.put(None)
        if not self.busy:
            self._thread.join(patience_s)

    def _work(self) -> None:
        while (job := self._jobs.get()) is not None:
            job()


@dataclass(frozen=True, slots=True)
class _Answer:
    lane: Lane
    sweep: int
    tell: Callable[[], None]
    failed: bool


class Lanes:
    """Asks lanes and takes their answers, one sweep at a time, on the calling thread."""

    def __init__(self) -> None:
        self._answers: SimpleQueue[_Answer] = SimpleQueue()
        self._sweep = 0
        self._open = 0

    def begin(self) -> None:
        """Begin a sweep: answers to earlier ones free their lanes and count no more."""
        self._sweep += 1
        self._open = 0
        while (answer := self._next(0.0)) is not None:
            self._take(answer)

    def ask(self, lane: Lane, job: Callable[[], T], then: Callable[[T], None]) -> None:
        """Do `job` on an idle lane; its result goes to `then` if it comes within this sweep."""
        lane.busy = True
        self._open += 1
        lane.start(partial(self._answer, lane, self._sweep, job, then))

    def run_until(self, ends_at_s: float) -> None:
        """Take answers until all have come, or until the monotonic clock says it is time."""
        while self._open:
            answer = self._next(max(0.0, ends_at_s - monotonic()))
            if answer is None:
                return
            self._take(answer)

    def _answer(
        self, lane: Lane, sweep: int, job: Callable[[], T], then: Callable[[T], None]
    ) -> None:
        try:
            answer = _Answer(lane, sweep, partial(then, job()), failed=False)
        except Exception as error:  # noqa: BLE001 - raised again on the thread that asked
            answer = _Answer(lane, sweep, partial(_throw, error), failed=True)
        self._answers.put(answer)

    def _next(self, patience_s: float) -> _Answer | None:
        try:
            return self._answers.get(timeout=patience_s)
        except Empty:
            return None

    def _take(self, answer: _Answer) -> None:
        answer.lane.busy = False
        current = answer.sweep == self._sweep
        self._open -= current
        if current or answer.failed:
            answer.tell()


def _throw(error: Exception) -> None:
    raise error
