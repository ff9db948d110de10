"""Restoring: a backup takes the store's place, and begins a new life of it."""

import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from uuid_utils.compat import uuid7

from logger.locks import hold
from logger.store import backup, database
from logger.store.database import FILE_NAME
from logger.store.tables import StoreIdentity

ASIDE: Final = "before-restore"


def restore(data: Path, file: Path, *, at: datetime) -> backup.Backup | None:
    """Put a checked backup in the place of the data folder's store; returns what was kept aside.

    Logger and service must be stopped (InUseError otherwise). The store that was there is kept as
    a backup; the restored one is brought to this program's schema and gets a new epoch, so that
    every open page loads again. Raises StoreError where the backup is not whole, and then
    nothing has changed.
    """
    with hold(data, "logger"), hold(data, "service"):
        backup.check(file)
        with TemporaryDirectory(prefix="restoring-", dir=data) as folder:
            fresh = Path(folder) / FILE_NAME
            backup.copy(file, fresh)
            database.migrate(Path(folder))
            _renew(fresh)
            aside = _keep_aside(data, at)
            _take_place(fresh, data / FILE_NAME)
    return aside


def _keep_aside(data: Path, at: datetime) -> backup.Backup | None:
    if not (data / FILE_NAME).exists():
        return None
    return backup.make(data, data / backup.FOLDER, label=ASIDE, at=at)


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
