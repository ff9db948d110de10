"""The sender: a thread that hands due notices to the post until none is left.

At most one notice is under way to a target, so that the most urgent goes first and a target that
does not answer holds up nobody but itself.
"""

import logging
from collections import deque
from collections.abc import Callable
from functools import partial
from threading import Event, Thread
from typing import Final, Protocol
from uuid import UUID

from api.alarms.notices.letters import Answer, Letter, Outcome
from api.alarms.notices.outbox import Due, Outbox
from calc.errors import WormtubError

log = logging.getLogger(__name__)

LOOK_S: Final = 5.0  # at the latest: a clock may step, a target may be put right
SHORTEST_S: Final = 0.2


class Delivery(Protocol):
    """What the sender needs of the post."""

    def send(self, letter: Letter, answered: Callable[[Answer], None]) -> None:
        """Take a letter and answer it later, once, from any thread."""
        ...


class Sender:
    """Sends what is in the outbox."""

    def __init__(self, outbox: Outbox, post: Delivery) -> None:
        self._outbox, self._post = outbox, post
        self._busy = set[UUID]()  # targets that a notice is under way to
        self._answers: deque[tuple[Due, Answer]] = deque()
        self._wake, self._stopped = Event(), Event()
        self._failing = False
        self._thread = Thread(target=self._run, name="sender", daemon=True)

    def start(self) -> None:
        """Mark what an earlier service left under way, and begin."""
        self._thread.start()

    def wake(self) -> None:
        """Look at once; safe from any thread."""
        self._wake.set()

    def stop(self) -> None:
        """End; what is under way is marked as such and sent again at the next start."""
        self._stopped.set()
        self._wake.set()
        self._thread.join()

    def look(self) -> float:
        """Note the answers, hand over what is due; returns the seconds until there may be more."""
        self._note_answers()
        for due in self._outbox.due(self._busy):
            self._hand_over(due)
        next_s = self._outbox.next_in_s()
        return LOOK_S if next_s is None else min(LOOK_S, max(SHORTEST_S, next_s))

    def _run(self) -> None:
        recovered = False
        while not self._stopped.is_set():
            self._wake.clear()
            try:
                if not recovered:
                    self._outbox.recover()
                    recovered = True
                pause_s = self.look()
            except Exception as error:  # noqa: BLE001 - the sender goes on, and says so
                self._note(error)
                pause_s = LOOK_S
            else:
                self._failing = False
            self._wake.wait(pause_s)

    def _hand_over(self, due: Due) -> None:
        self._outbox.begin(due.id)
        self._busy.add(due.target_id)
        try:
            self._post.send(due.letter, partial(self._answered, due))
        except WormtubError as error:
            self._answered(due, Answer(str(due.id), Outcome.NOT_TAKEN, str(error)))

    def _answered(self, due: Due, answer: Answer) -> None:
        """Leave an answer to the sender's own thread, which can try again to note it."""
        self._answers.append((due, answer))
        self._wake.set()

    def _note_answers(self) -> None:
        while self._answers:
            due, answer = self._answers[0]
            self._outbox.finish(due.id, answer)  # where the store refuses, it stays the first
            self._answers.popleft()
            self._busy.discard(due.target_id)
            if answer.outcome is not Outcome.TAKEN:
                log.warning("A notice is not sent yet and is tried again: %s", answer.says)

    def _note(self, error: Exception) -> None:
        if not self._failing:
            known = isinstance(error, WormtubError)
            log.error("Notices wait: %s", error, exc_info=None if known else error)
        self._failing = True
