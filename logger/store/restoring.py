"""Restoring: a backup takes the store's place, and begins a new life of it."""

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from uuid_utils.compat import uuid7

from logger.errors import StoreError
from logger.locks import hold
from logger.store import backup, database
from logger.store.database import FILE_NAME
from logger.store.tables import StoreIdentity

ASIDE: Final = "before-restore"
DAMAGED: Final = "damaged"


def restore(
    data: Path, file: Path, *, at: datetime, keep_schema: bool = False
) -> backup.Backup | None:
    """Put a checked backup in the place of the data folder's store; returns what was kept aside.

    Logger and service must be stopped (InUseError otherwise). The store that was there is kept as
    a backup, or as it is where it is damaged; the restored one is brought to this program's schema
    (not with `keep_schema`: for an older program that takes over) and gets a new epoch, so that
    every open page loads again. Raises StoreError where the backup is not whole, and then
    nothing has changed.
    """
    with hold(data, "logger"), hold(data, "service"):
        backup.check(file)
        with TemporaryDirectory(prefix="restoring-", dir=data) as folder:
            fresh = Path(folder) / FILE_NAME
            backup.copy(file, fresh)
            if not keep_schema:
                database.migrate(Path(folder))
            _renew(fresh)
            aside = _keep_aside(data, at)
            _take_place(fresh, data / FILE_NAME)
    return aside


def _keep_aside(data: Path, at: datetime) -> backup.Backup | None:
    if not (data / FILE_NAME).exists():
        return None
    try:
        return backup.make(data, data / backup.FOLDER, label=ASIDE, at=at)
    except StoreError:
        if _is_whole(data / FILE_NAME):
            raise  # the store is not what was wrong
        return _keep_as_it_is(data, at)


def _is_whole(file: Path) -> bool:
    try:
        backup.check(file)
    except StoreError:
        return False
    return True


def _keep_as_it_is(data: Path, at: datetime) -> backup.Backup:
    """Keep what cannot be copied as a store: the file and its log, in a folder of their own."""
    folder = data / backup.FOLDER / f"wormtub-{at.astimezone(UTC).strftime(backup.TIME)}-{DAMAGED}"
    folder.mkdir(parents=True)
    for end in ("", "-wal"):
        file = data / (FILE_NAME + end)
        if file.exists():
            _link(file, folder / file.name)
    return backup.Backup(folder, at, DAMAGED)


def _link(file: Path, to: Path) -> None:
    """Give a file a second name, which takes no room; copy it where that cannot be."""
    try:
        os.link(file, to)
    except OSError:
        shutil.copy2(file, to)


def _renew(file: Path) -> None:
    """Give the store a new epoch: what pages and caches know of the old life is void."""
    name = StoreIdentity.__tablename__
    with closing(sqlite3.connect(file)) as store, store:
        store.execute(f"UPDATE {name} SET epoch = ?", (uuid7().hex,))  # noqa: S608 - our own name


def _take_place(fresh: Path, file: Path) -> None:
    """Change places in one step; a log of the old file must not be read into the new one."""
    for end in ("-wal", "-shm"):
        file.with_name(file.name + end).unlink(missing_ok=True)
    backup.settle(fresh, file)
