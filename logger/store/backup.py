"""Backups: a copy of the store made while it is in use, checked by opening it, kept by age.

The copy is SQLite's own backup of one snapshot, taken in small steps so that a slow card has
breath for scans in between. A copy is named by its time, and only a finished one has that name.
"""

import os
import re
import sqlite3
import time
from collections.abc import Callable, Iterable, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from logger.errors import StoreError
from logger.store.database import FILE_NAME, HEAD, VERSION_TABLE

FOLDER: Final = "backups"  # in the data folder, unless another is chosen
SCHEDULED: Final = "scheduled"
STEP_PAGES: Final = 1000  # 4 MB: a tenth of a second on a slow card
BREATH_S: Final = 0.02
LABEL: Final = re.compile(r"[a-z0-9-]{1,30}")
NAME: Final = re.compile(r"wormtub-(\d{8}T\d{6}Z)-([a-z0-9-]{1,30})\.db")
TIME: Final = "%Y%m%dT%H%M%SZ"
ROOM: Final = 1.1  # of the store's size, left free for the copy
OTHERS_KEPT: Final = 5  # of each label that is not the schedule's
LEFT_OVER_S: Final = 86_400  # a half copy this old is of a power cut


@dataclass(frozen=True, slots=True)
class Backup:
    """A finished copy."""

    file: Path
    made_at: datetime
    label: str


def make(data: Path, folder: Path, *, label: str, at: datetime) -> Backup:
    """Copy the store of a data folder into another folder, and check the copy.

    Raises StoreError with a sentence where there is no store, no room or no such folder, or where
    the copy does not open whole; a half copy is never left.
    """
    if not LABEL.fullmatch(label):
        raise StoreError(f'The label "{label}" is not one: small letters, digits and hyphens.')
    source = data / FILE_NAME
    if not source.exists():
        raise StoreError(f"There is no store in {data}; choose its folder with --data.")
    _check_folder(data, folder)
    file = folder / f"wormtub-{at.astimezone(UTC).strftime(TIME)}-{label}.db"
    half = file.with_suffix(".part")
    try:
        _check_room(source, folder)
        copy(source, half)
        check(half)
        settle(half, file)
    except StoreError:
        raise
    except (OSError, sqlite3.Error) as error:
        raise StoreError(f"The backup {file} could not be made: {error}.") from None
    finally:
        with suppress(OSError):
            half.unlink(missing_ok=True)
    return Backup(file, at, label)


def copy(source: Path, to: Path, *, pause: Callable[[float], None] = time.sleep) -> None:
    """Copy one snapshot of a store that others may be writing to."""

    def breathe(_status: int, _remaining: int, _total: int) -> None:
        pause(BREATH_S)

    to.unlink(missing_ok=True)
    to.touch(mode=0o600)  # a record is its owner's; a stick that knows no modes takes it as well
    with closing(_opened(source, "ro")) as old, closing(sqlite3.connect(to)) as new:
        old.execute("BEGIN")
        old.execute("SELECT count(*) FROM sqlite_master").fetchone()  # the snapshot is taken here
        old.backup(new, pages=STEP_PAGES, progress=breathe)
        new.execute("PRAGMA journal_mode = DELETE")  # one file, without a log beside it


def check(file: Path) -> str:
    """Open a copy and read all of it; gives its schema, or raises StoreError with a sentence."""
    if not os.access(file, os.R_OK):
        raise StoreError(
            f"There is no file {file} that this user may read; "
            "give a backup by its name and folder, readable for this user."
        )
    try:
        with closing(_opened(file, "ro")) as copied:
            verdict = copied.execute("PRAGMA integrity_check(1)").fetchone()[0]
            found = copied.execute(f"SELECT version_num FROM {VERSION_TABLE}").fetchone()  # noqa: S608
    except sqlite3.Error as error:
        raise StoreError(f"{file} is not a whole store of this program: {error}.") from None
    if verdict != "ok" or found is None:
        raise StoreError(f"{file} is not a whole store of this program: {verdict}.")
    schema = str(found[0])
    if schema > HEAD:
        raise StoreError(
            f"{file} has schema {schema}, newer than this program's {HEAD}: update the program."
        )
    return schema


def found_in(folder: Path) -> Sequence[Backup]:
    """List the finished copies of a folder, oldest first."""
    try:
        files = sorted(folder.iterdir())
    except OSError:
        return ()
    matches = ((file, NAME.fullmatch(file.name)) for file in files)
    return tuple(
        Backup(file, datetime.strptime(match[1], TIME).replace(tzinfo=UTC), match[2])
        for file, match in matches
        if match
    )


def spare(backups: Iterable[Backup], now: datetime) -> Sequence[Backup]:
    """Say which scheduled copies may go: all of two days stay, then one a day, a week, a month.

    Copies made for a reason of their own (before an upgrade, by hand) stay until the owner
    removes them, except that the last five of each label are enough.
    """
    ordered = sorted(backups, key=lambda one: one.made_at, reverse=True)
    kept: set[tuple[str, object]] = set()
    spared, others = [], dict[str, int]()
    for one in ordered:
        if one.label != SCHEDULED:
            others[one.label] = others.get(one.label, 0) + 1
            if others[one.label] > OTHERS_KEPT:
                spared.append(one)
            continue
        shelf = _shelf(one.made_at, now)
        if shelf is None or shelf in kept:
            spared.append(one)
        else:
            kept.add(shelf)
    return spared


def _shelf(made_at: datetime, now: datetime) -> tuple[str, object] | None:
    age = now - made_at
    if age < timedelta(days=2):
        return ("each", made_at)
    if age < timedelta(days=15):
        return ("day", made_at.date())
    if age < timedelta(weeks=9):
        return ("week", made_at.isocalendar()[:2])
    if age < timedelta(days=731):
        return ("month", (made_at.year, made_at.month))
    return None


def keep_up(data: Path, folder: Path, *, every: timedelta, now: datetime) -> Backup | None:
    """Make the copy that is due, if one is, and let go of those that may go."""
    ages = [now - one.made_at for one in found_in(folder) if one.label == SCHEDULED]
    if any(timedelta(0) <= age < every for age in ages):  # one of a clock once ahead is no reason
        return None
    made = make(data, folder, label=SCHEDULED, at=now)
    _sweep(folder, now)
    for one in spare(found_in(folder), now):
        one.file.unlink(missing_ok=True)
    return made


def _sweep(folder: Path, now: datetime) -> None:
    """Take away the half copies that power cuts left."""
    for half in folder.glob("wormtub-*.part*"):
        if now.timestamp() - half.stat().st_mtime > LEFT_OVER_S:
            half.unlink(missing_ok=True)


def _check_folder(data: Path, folder: Path) -> None:
    """Make the data folder's own; a stick that is not there is said, not written beside."""
    if folder == data / FOLDER:
        folder.mkdir(exist_ok=True)
    elif not folder.is_dir():
        raise StoreError(
            f"The folder {folder} for backups is not there; mount the stick it is on, "
            "make the folder, or choose another with backup_to."
        )
    if not os.access(folder, os.W_OK | os.X_OK):
        raise StoreError(f"The folder {folder} for backups cannot be written by this user.")


def _check_room(source: Path, folder: Path) -> None:
    there = os.statvfs(folder)
    free, needed = there.f_bavail * there.f_frsize, int(source.stat().st_size * ROOM)
    if free < needed:
        raise StoreError(
            f"{folder} has {free / 1e6:.0f} MB free and the backup takes {needed / 1e6:.0f} MB; "
            "make room, or choose another folder with backup_to."
        )


def settle(half: Path, file: Path) -> None:
    """Give a file its name once it is on the card: a power cut leaves the old one or the new."""
    _sync(half, os.O_RDONLY)
    half.replace(file)
    _sync(file.parent, os.O_RDONLY | os.O_DIRECTORY)


def _sync(path: Path, flags: int) -> None:
    handle = os.open(path, flags)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _opened(file: Path, mode: str) -> sqlite3.Connection:
    uri = f"{file.absolute().as_uri()}?mode={mode}"
    return sqlite3.connect(uri, uri=True, isolation_level=None, timeout=5)
