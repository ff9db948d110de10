"""The service's side of the postman: started when there is a letter, sent home when there is none.

Apprise takes tens of megabytes and may hang in a target's network code; in a process of its own it
can do neither to the service.
"""

import logging
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from queue import SimpleQueue
from threading import Lock, Thread, Timer
from typing import Final
from uuid import uuid4

from api.alarms.notices.errors import PostError, TargetError
from api.alarms.notices.letters import Answer, Letter, Outcome

log = logging.getLogger(__name__)

PATIENCE_S: Final = 30.0
HOME_AFTER_S: Final = 600.0
MODULE: Final = "api.alarms.notices.postman"
ROOT: Final = Path(__file__).parents[3]  # where `api` lies
SILENT: Final = "The target did not answer within {:g} s."
GONE: Final = "The process that hands notices out ended; it is started again."

Answered = Callable[[Answer], None]


class Post:
    """Hands letters to the postman; every letter is answered once, at the latest in `patience_s`.

    Answers are given in threads of the post's own.
    """

    def __init__(
        self, *, patience_s: float = PATIENCE_S, home_after_s: float = HOME_AFTER_S
    ) -> None:
        self._patience_s, self._home_after_s = patience_s, home_after_s
        self._lock = Lock()
        self._waiting: dict[str, tuple[Answered, Timer]] = {}
        self._postman: subprocess.Popen[bytes] | None = None
        self._going_home: Timer | None = None

    def send(self, letter: Letter, answered: Answered) -> None:
        """Hand in a letter; PostError where there is no postman to take it."""
        patience = _timer(self._patience_s, self._give_up, letter.id)
        with self._lock:
            postman = self._at_work()
            self._waiting[letter.id] = (answered, patience)
            patience.start()
            try:
                assert postman.stdin is not None  # noqa: S101 - a pipe was asked for
                postman.stdin.write(letter.line())
                postman.stdin.flush()
            except OSError:  # it ended just now; whoever reads its answers tells
                log.warning(GONE)

    def ask(self, letter: Letter) -> Answer:
        """Hand in a letter and wait for its answer."""
        answers: SimpleQueue[Answer] = SimpleQueue()
        self.send(letter, answers.put)
        return answers.get()

    def check(self, address: str) -> None:
        """Raise TargetError unless Apprise can send to an address."""
        answer = self.ask(Letter(f"check-{uuid4()}", address))
        if answer.outcome is not Outcome.TAKEN:
            raise TargetError(answer.says)

    def close(self) -> None:
        """Send the postman home; what is under way is finished by it, unheard."""
        with self._lock:
            self._waiting = {}
            self._send_home()

    def _at_work(self) -> "subprocess.Popen[bytes]":
        self._stay()
        if self._postman is None:
            self._postman = _hired()
            Thread(target=self._listen, args=(self._postman,), name="post", daemon=True).start()
        return self._postman

    def _listen(self, postman: "subprocess.Popen[bytes]") -> None:
        assert postman.stdout is not None  # noqa: S101 - a pipe was asked for
        try:
            for line in postman.stdout:
                self._answer(Answer.read(line))
        except (PostError, KeyError, ValueError):
            log.exception("A postman that is not understood is replaced.")
            postman.kill()
        with self._lock, postman:  # closes the pipes, waits for the end
            left = list(self._waiting) if self._postman is postman else []
            self._postman = None if self._postman is postman else self._postman
        for letter_id in left:
            self._answer(Answer(letter_id, Outcome.UNSURE, GONE))

    def _give_up(self, letter_id: str) -> None:
        self._answer(Answer(letter_id, Outcome.UNSURE, SILENT.format(self._patience_s)))

    def _answer(self, answer: Answer) -> None:
        with self._lock:
            answered, patience = self._waiting.pop(answer.id, (None, None))
            if not self._waiting and self._postman is not None:
                self._stay()
                self._going_home = _timer(self._home_after_s, self._go_home)
                self._going_home.start()
        if answered is not None and patience is not None:
            patience.cancel()
            answered(answer)

    def _go_home(self) -> None:
        with self._lock:
            if not self._waiting:
                self._send_home()

    def _send_home(self) -> None:
        self._stay()
        if self._postman is not None and self._postman.stdin is not None:
            self._postman.stdin.close()
        self._postman = None

    def _stay(self) -> None:
        if self._going_home is not None:
            self._going_home.cancel()


def _timer(after_s: float, action: Callable[..., None], *what: object) -> Timer:
    timer = Timer(after_s, action, what)
    timer.daemon = True
    return timer


def _hired() -> "subprocess.Popen[bytes]":
    try:
        return subprocess.Popen(
            [sys.executable, "-m", MODULE],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
    except OSError as error:
        raise PostError(
            f"The process that hands notices out cannot be started ({error.strerror}); "
            "free some memory, or restart the service."
        ) from None
