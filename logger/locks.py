"""One logger and one service to a data folder: a lock that ends with the process holding it."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from logger.errors import InUseError, StoreError


@contextmanager
def hold(data: Path, kind: str) -> Iterator[None]:
    """Hold DATA/KIND.lock, or raise InUseError where another process does."""
    file = _opened(data, kind)
    try:
        _take(file, data, kind)
        yield
    finally:
        os.close(file)


def _opened(data: Path, kind: str) -> int:
    try:
        data.mkdir(parents=True, exist_ok=True)
        return os.open(data / f"{kind}.lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    except OSError as error:
        raise StoreError(
            f"The data folder {data} cannot be written ({error.strerror}); "
            "make it writable for this user, or choose another with --data."
        ) from None


def _take(file: int, data: Path, kind: str) -> None:
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        holder = os.pread(file, 32, 0).decode(errors="replace").strip() or "of unknown number"
        raise InUseError(
            f"Another {kind} (process {holder}) works on the data folder {data}; "
            "stop it first, or choose another folder with --data."
        ) from None
    _sign(file)


def _sign(file: int) -> None:
    """Leave the process number for the sentence; a full disk must not stop the logger."""
    os.ftruncate(file, 0)
    try:
        os.pwrite(file, f"{os.getpid()}\n".encode(), 0)
    except OSError:
        os.ftruncate(file, 0)
