"""The demonstration's processes: started together, watched, and ended together."""

import ctypes
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from math import inf
from pathlib import Path
from threading import Event
from time import monotonic
from typing import Final, Self

from calc.errors import WormtubError
from logger.settings import PREFIX

END_WITHIN_S: Final = 15.0
PR_SET_PDEATHSIG: Final = 1  # prctl(2)


class ChildError(WormtubError, ChildProcessError):
    """One of the demonstration's processes has ended by itself."""


@dataclass(frozen=True, slots=True)
class Child:
    """A `wormtub WORD ...` of its own, and the file its words go to."""

    word: str
    process: subprocess.Popen[bytes]
    log: Path

    @classmethod
    def start(cls, folder: Path, word: str, *options: str) -> "Child":
        """Start one; it ends with this process, whatever ends this process."""
        log = folder / f"{word}.log"
        with log.open("wb") as out:
            process = subprocess.Popen(
                [sys.executable, "-P", "-m", "api.cli", word, *options],
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
                env=_environment(),
                process_group=0,  # Ctrl-C is for the parent, which ends the children in order
                preexec_fn=_end_with_parent,  # noqa: PLW1509 - no threads run yet
            )
        return cls(word, process, log)

    def check(self) -> None:
        """Raise ChildError with its last words where it has ended by itself."""
        code = self.process.poll()
        if code is None:
            return
        how = f"with exit code {code}" if code >= 0 else f"by {signal.Signals(-code).name}"
        lines = self.log.read_text(errors="replace").split("\n")
        last = next((line for line in reversed(lines) if line.strip()), "it said nothing")
        raise ChildError(f"wormtub {self.word} ended {how}: {last.strip()}")

    def end(self) -> None:
        """Ask it to end, and insist where it does not."""
        self.process.terminate()
        with suppress(subprocess.TimeoutExpired):
            self.process.wait(END_WITHIN_S)
        self.process.kill()
        self.process.wait()


class Children:
    """The children started so far; all have ended when the block is left, the last first."""

    def __init__(self, folder: Path, stop: Event) -> None:
        self._folder, self._stop = folder, stop
        self._started: list[Child] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        for child in reversed(self._started):
            child.end()

    def start(self, word: str, *options: str) -> None:
        """Start one more."""
        self._started.append(Child.start(self._folder, word, *options))

    def until(self, done: Callable[[], bool], within_s: float = inf) -> bool:
        """Wait until done (True) or told to stop (False); a child that ends is an error."""
        deadline = monotonic() + within_s
        while not self._stop.is_set():
            for child in self._started:
                child.check()
            if done():
                return True
            if monotonic() > deadline:
                raise ChildError(f"The demonstration is not ready within {within_s:g} s.")
            self._stop.wait(0.1)
        return False


def _environment() -> dict[str, str]:
    """Keep the settings of a real site out of the demonstration."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith(PREFIX)}
    return kept | {"PYTHONUNBUFFERED": "1"}


def _end_with_parent() -> None:
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
