"""The demonstration's processes: started together, watched, and ended together."""

import ctypes
import os
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

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


@contextmanager
def together(folder: Path, *commands: Sequence[str]) -> Iterator[tuple[Child, ...]]:
    """Start children, and end them, the last first."""
    with ExitStack() as stack:
        children = []
        for word, *options in commands:
            child = Child.start(folder, word, *options)
            stack.callback(child.end)
            children.append(child)
        yield tuple(children)


def _environment() -> dict[str, str]:
    """Keep the settings of a real site out of the demonstration."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith(PREFIX)}
    return kept | {"PYTHONUNBUFFERED": "1"}


def _end_with_parent() -> None:
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
