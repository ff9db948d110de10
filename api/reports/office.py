"""The service's side of reports: has one made at a time, in a process of its own."""

import logging
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryFile
from threading import Lock
from typing import IO, Final

from api.errors import BusyError
from api.reports.order import Order

log = logging.getLogger(__name__)

PATIENCE_S: Final = 120.0
MODULE: Final = "api.reports.maker"
ROOT: Final = Path(__file__).parents[2]  # where `api` lies
AT_ONCE: Final = 1 << 16  # bytes handed on at a time
BUSY: Final = "A report is being made already, and one is made at a time; ask again in a moment."
SLOW: Final = "The report was not ready in time; ask again when less is going on."
CANNOT: Final = "The process that makes reports cannot be started ({}); free some memory."
FAILED: Final = "The report could not be made; what went wrong stands in the service's log."


class ReportError(BusyError):
    """A report could not be made."""


class Office:
    """Takes orders; a second one is refused while the first is in the making."""

    def __init__(self, patience_s: float = PATIENCE_S) -> None:
        self._patience_s = patience_s
        self._making = Lock()

    def make(self, order: Order) -> Iterator[bytes]:
        """Have it made, whole, then hand it on in parts; raises WormtubError with a sentence."""
        if not self._making.acquire(blocking=False):
            raise BusyError(BUSY)
        try:
            return _parts(self._made(order))
        finally:
            self._making.release()

    def _made(self, order: Order) -> IO[bytes]:
        file = TemporaryFile()  # noqa: SIM115 - whoever reads it to its end closes it
        try:
            self._run(order, file)
        except BaseException:
            file.close()
            raise
        file.seek(0)
        return file

    def _run(self, order: Order, file: IO[bytes]) -> None:
        command = [sys.executable, "-m", MODULE, *order.written()]
        try:
            done = subprocess.run(
                command, cwd=ROOT, stdin=subprocess.DEVNULL, stdout=file, stderr=subprocess.PIPE,
                timeout=self._patience_s, check=False,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            raise ReportError(SLOW) from None
        except OSError as error:
            raise ReportError(
                f"The report's process cannot be started ({error.strerror})."
            ) from None
        if done.returncode != 0:
            said = done.stderr.decode(errors="replace").strip()
            log.error("A report could not be made: %s", said)
            raise ReportError(said if done.returncode == 2 else FAILED)


def _parts(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        while part := file.read(AT_ONCE):
            yield part
