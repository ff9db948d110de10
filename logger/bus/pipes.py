"""Named pipes that stand where a probe's file was, so that reading one truly waits."""

import contextlib
import os
from collections.abc import Callable
from errno import ENXIO
from pathlib import Path


class SlowPipe:
    """A pipe at `path` whose every reader waits `delay_s` for its text; for ever if infinite.

    Each reader gets a pipe of its own: as one is met, a fresh pipe takes the path.
    """

    def __init__(self, path: Path, delay_s: float, now_s: Callable[[], float]) -> None:
        self._path = path
        self._delay_s = delay_s
        self._now_s = now_s
        self._met: list[tuple[int, float]] = []  # open pipe, when its text is due
        self._lay()

    def answer(self, text: bytes) -> None:
        """Meet a reader who has come, and serve those who have waited long enough."""
        self._meet()
        now_s = self._now_s()
        for due in [met for met in self._met if met[1] <= now_s]:
            self._met.remove(due)
            self._serve(due[0], text)

    def release(self) -> None:
        """Let every reader go with an empty text; the path is someone else's again."""
        unmet = self._reader()
        for pipe in [pipe for pipe, _ in self._met] + ([] if unmet is None else [unmet]):
            os.close(pipe)
        self._met.clear()
        os.close(self._held)

    def _lay(self) -> None:
        fresh = self._path.with_name(f".{self._path.name}.pipe")
        os.mkfifo(fresh)
        # Held by a descriptor that neither reads nor writes, so that readers can still be let
        # go when the path is no more.
        self._held = os.open(fresh, os.O_PATH)
        fresh.replace(self._path)

    def _meet(self) -> None:
        """Open for writing what somebody has opened for reading."""
        while (pipe := self._reader()) is not None:
            self._met.append((pipe, self._now_s() + self._delay_s))
            os.close(self._held)
            self._lay()

    def _reader(self) -> int | None:
        try:
            return os.open(f"/proc/self/fd/{self._held}", os.O_WRONLY | os.O_NONBLOCK)
        except OSError as error:
            if error.errno == ENXIO:  # nobody reads
                return None
            raise

    @staticmethod
    def _serve(pipe: int, text: bytes) -> None:
        with contextlib.suppress(BrokenPipeError):  # the reader has given up
            os.write(pipe, text)
        os.close(pipe)
