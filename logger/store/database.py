"""The file: made, checked and opened. Alembic is imported only to migrate (see `migrating`)."""

import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from uuid import UUID

from sqlalchemy import URL, Connection, Engine, QueuePool, create_engine, event, inspect, select
from sqlalchemy.dialects import registry
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.pool import ConnectionPoolEntry
from sqlalchemy.util import LRUCache
from sqlmodel import col

import logger.store.alarm_tables
import logger.store.door_tables
import logger.store.estimate_tables
import logger.store.record_tables
import logger.store.scan_tables  # noqa: F401 - a fresh store has these tables too
from logger.errors import InUseError, SchemaError, StoreError
from logger.locks import hold
from logger.store.failures import file_of, told
from logger.store.tables import Row, StoreIdentity, table
from logger.store.types import now

FILE_NAME: Final = "wormtub.db"
VERSION_TABLE: Final = "alembic_version"
HEAD: Final = "0007"  # the newest of logger/store/migrations/versions; they are numbered
# Measured (tests/bench, --page-sizes and --page-bytes): pages of 2048 write a quarter less, but
# the file is 8 % larger and read slower when cold; pages of 8192 write half as much again.
PAGE_BYTES: Final = 4096
BUSY_MS: Final = 5000
# Each connection has its own, and none is quicker for more: the system keeps the file's pages. One
# that writes holds what a transaction changed, which would else be written twice.
WRITES_KB: Final = 512
READS_KB: Final = 128
MORE_CONNECTIONS: Final = 40  # a thread each, as many as the service may have
MIGRATION_WAIT_S: Final = 30.0
DRIVER: Final = "sqlite+wormtub"


class OneSpeech(SQLiteDialect_pysqlite):
    """SQLite's dialect; all engines speak the same one, so that they share what is compiled."""

    supports_statement_cache = True

    def __eq__(self, other: object) -> bool:
        return isinstance(other, OneSpeech)

    def __hash__(self) -> int:
        return hash(OneSpeech)


registry.register(DRIVER.replace("+", "."), __name__, OneSpeech.__name__)
# A statement costs some milliseconds to compile. Each process has several engines on one file.
_COMPILED: Final = LRUCache[object, object](1000)


@dataclass(frozen=True, slots=True)
class Identity:
    """Which site the store belongs to, and which life of it this is."""

    site: UUID
    epoch: UUID  # renewed when a backup is restored


def engine(data: Path, *, read_only: bool = False) -> Engine:
    """Open the store of a data folder; a transaction that may write takes the lock at once."""
    file = data / FILE_NAME
    cache_kb = READS_KB if read_only else WRITES_KB
    made = _engine(file, lambda: _connect(file, cache_kb=cache_kb), max_overflow=MORE_CONNECTIONS)
    _set_up(made, begin="BEGIN" if read_only else "BEGIN IMMEDIATE", query_only=read_only)
    return made


def prepare(data: Path) -> None:
    """Make a fresh store, or see that the one there is of this program's schema and writable."""
    with _alone(data), told(data / FILE_NAME):
        made = _maker(data)
        try:
            with made.begin() as connection:
                if not inspect(connection).get_table_names():
                    _create(connection)
                check_schema(connection, data / FILE_NAME)
                connection.execute(table(StoreIdentity).update().values(opened_at=now()))
        finally:
            made.dispose()
    _keep_name(data)


def check_schema(connection: Connection, file: Path) -> None:
    """Raise SchemaError unless the store's schema is this program's."""
    _check_ours(connection, file)
    found = schema_of(connection) or ""
    if found < HEAD:
        raise SchemaError(
            f"The store {file} has schema {found}, this program needs {HEAD}: "
            "run wormtub migrate (it keeps everything stored)."
        )
    if found > HEAD:
        raise SchemaError(
            f"The store {file} has schema {found}, newer than this program's {HEAD}: "
            "update the program. Nothing was changed."
        )


def schema_of(connection: Connection) -> str | None:
    """Read the store's schema number without Alembic."""
    if not inspect(connection).has_table(VERSION_TABLE):
        return None
    found: str | None = connection.exec_driver_sql(
        "SELECT version_num FROM alembic_version"
    ).scalar()
    return found


def migrate(data: Path) -> None:
    """Bring an older store to this program's schema, in one transaction; keeps everything."""
    from logger.store.migrating import upgrade  # noqa: PLC0415 - Alembic only where it is needed

    with _alone(data), told(data / FILE_NAME):
        made = _maker(data)
        try:
            with made.begin() as connection:
                if inspect(connection).get_table_names():
                    _check_ours(connection, data / FILE_NAME)
                upgrade(connection, data / FILE_NAME)
                _give_identity(connection)
        finally:
            made.dispose()


def identity(store: Engine) -> Identity:
    """Read the store's card."""
    with told(file_of(store)), store.connect() as connection:
        site, epoch = connection.execute(
            select(col(StoreIdentity.site), col(StoreIdentity.epoch))
        ).one()
        return Identity(site, epoch)


def _create(connection: Connection) -> None:
    Row.metadata.create_all(connection)
    _give_identity(connection)
    connection.exec_driver_sql(
        "CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL, "
        "CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num))"
    )
    connection.exec_driver_sql("INSERT INTO alembic_version VALUES (?)", (HEAD,))


def _give_identity(connection: Connection) -> None:
    if connection.execute(select(col(StoreIdentity.id))).first() is None:
        connection.execute(table(StoreIdentity).insert().values(id=1))


def _check_ours(connection: Connection, file: Path) -> None:
    if not inspect(connection).has_table(VERSION_TABLE):
        raise StoreError(
            f"The file {file} is not a store of this program; move it away, or choose another "
            "data folder with --data."
        )


def _connect(file: Path, *, create: bool = False, cache_kb: int = WRITES_KB) -> sqlite3.Connection:
    mode = "rwc" if create else "rw"
    uri = f"{file.absolute().as_uri()}?mode={mode}"
    connection = sqlite3.connect(
        uri, uri=True, isolation_level=None, check_same_thread=False, timeout=BUSY_MS / 1000
    )
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute(f"PRAGMA cache_size = -{cache_kb}")
    connection.execute("PRAGMA synchronous = FULL")  # WAL + NORMAL can lose committed scans
    return connection


def _maker(data: Path) -> Engine:
    """Open the store to make or change it: the file, its page size and its WAL mode come here."""

    def connect() -> sqlite3.Connection:
        connection = _connect(data / FILE_NAME, create=True)
        names = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
        if not names or VERSION_TABLE in names:  # not somebody else's file
            connection.execute(f"PRAGMA page_size = {PAGE_BYTES}")
            connection.execute("PRAGMA journal_mode = WAL")
        return connection

    made = _engine(data / FILE_NAME, connect)
    _set_up(made, begin="BEGIN IMMEDIATE", query_only=False)
    return made


def _engine(file: Path, connect: Callable[[], sqlite3.Connection], **pool: int) -> Engine:
    return create_engine(
        URL.create(DRIVER, database=str(file)),
        creator=connect,
        poolclass=QueuePool,
        execution_options={"compiled_cache": _COMPILED},
        **pool,
    )


def _set_up(made: Engine, *, begin: str, query_only: bool) -> None:
    @event.listens_for(made, "connect")
    def connected(connection: DBAPIConnection, _: ConnectionPoolEntry) -> None:
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA query_only = {int(query_only)}")
        cursor.close()

    @event.listens_for(made, "begin")
    def begun(connection: Connection) -> None:
        statement = connection.get_execution_options().get("begin", begin)
        if statement is not None:
            connection.exec_driver_sql(statement)


def _keep_name(data: Path) -> None:
    """See that the folder's entry for a fresh file survives a power cut; SQLite leaves it out."""
    folder = os.open(data, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


@contextmanager
def _alone(data: Path) -> Iterator[None]:
    """Make, check or migrate the file in one process at a time; the others wait their turn."""
    with ExitStack() as held:
        until = time.monotonic() + MIGRATION_WAIT_S
        while not _held(held, data, last_try=time.monotonic() > until):
            time.sleep(0.05)
        yield


def _held(held: ExitStack, data: Path, *, last_try: bool) -> bool:
    try:
        held.enter_context(hold(data, "migrate"))
    except InUseError:
        if last_try:
            raise
        return False
    return True
