"""Presses that wait to be told to the service: kept in the data folder, sent once each.

One line of JSON a press, safely on disk before the beep. Each has an id, made when it was
pressed, so that the service knows one that comes a second time.
"""

import json
import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import Final, Self
from uuid import UUID

from uuid_utils.compat import uuid7

from logger.presses import Press

FILE_NAME: Final = "button.jsonl"
REFUSED_NAME: Final = "button-refused.jsonl"


@dataclass(frozen=True, slots=True)
class Pressed:
    """One press: what was meant and when; and, once worked out, what is to be sent where."""

    id: UUID
    press: Press
    at: datetime
    path: str = ""
    body: str = ""  # JSON, kept so that it is sent again exactly as it was

    @classmethod
    def now(cls, press: Press, at: datetime) -> Self:
        """Make one."""
        return cls(uuid7(), press, at)

    def addressed(self, path: str, body: Mapping[str, object]) -> Self:
        """Say what is to be sent where."""
        return replace(self, path=path, body=json.dumps(body))

    def line(self) -> str:
        """Write it as one line."""
        return json.dumps(asdict(self), default=str) + "\n"

    @classmethod
    def read(cls, line: str) -> Self:
        """Read a line; ValueError where it is none."""
        try:
            said = json.loads(line)
            return cls(
                UUID(said["id"]),
                Press(said["press"]),
                datetime.fromisoformat(said["at"]),
                str(said["path"]),
                str(said["body"]),
            )
        except (KeyError, TypeError) as error:
            raise ValueError(line) from error


class Waiting:
    """The presses not yet told, oldest first; any thread may use it."""

    def __init__(self, data: Path) -> None:
        self._file, self._refused = data / FILE_NAME, data / REFUSED_NAME
        self._lock = Lock()
        self._presses = _read(self._file)

    def __len__(self) -> int:
        return len(self._presses)

    @property
    def first(self) -> Pressed | None:
        """The oldest."""
        with self._lock:
            return self._presses[0] if self._presses else None

    def add(self, pressed: Pressed) -> None:
        """Keep one; it is on disk when this returns."""
        with self._lock:
            _append(self._file, pressed.line())
            self._presses.append(pressed)

    def put(self, pressed: Pressed) -> None:
        """Keep what was worked out of one."""
        with self._lock:
            self._presses = [pressed if one.id == pressed.id else one for one in self._presses]
            self._write()

    def done(self, pressed: Pressed) -> None:
        """Forget one: the service has it."""
        with self._lock:
            self._presses = [one for one in self._presses if one.id != pressed.id]
            self._write()

    def refuse(self, pressed: Pressed, why: str) -> None:
        """Lay one aside that the service will not take; nothing is thrown away."""
        _append(self._refused, json.dumps({"why": why, "press": json.loads(pressed.line())}) + "\n")
        self.done(pressed)

    def _write(self) -> None:
        fresh = self._file.with_name(f"{FILE_NAME}.new")
        with fresh.open("w", encoding="utf-8") as out:
            out.writelines(one.line() for one in self._presses)
            out.flush()
            os.fsync(out.fileno())
        fresh.replace(self._file)
        _sync_folder(self._file.parent)


def _read(file: Path) -> list[Pressed]:
    """Read what waits; a line torn by a power cut was never beeped for."""
    found: list[Pressed] = []
    if file.exists():
        for line in file.read_text(encoding="utf-8").splitlines():
            with suppress(ValueError):
                found.append(Pressed.read(line))
    return found


def _append(file: Path, line: str) -> None:
    is_new = not file.exists()
    torn = not is_new and file.read_bytes()[-1:] not in {b"", b"\n"}
    with file.open("a", encoding="utf-8") as out:
        out.write(f"\n{line}" if torn else line)
        out.flush()
        os.fsync(out.fileno())
    if is_new:
        _sync_folder(file.parent)


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
