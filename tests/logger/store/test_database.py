"""The file is made, checked, opened and migrated; what cannot be used is said in one sentence."""

import os
import resource
import sqlite3
import subprocess
import sys
import threading
import traceback
import warnings
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import select
from sqlalchemy.engine.interfaces import CacheStats

from logger.errors import InUseError, SchemaError, StoreError
from logger.locks import hold
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database, migrating
from logger.store.scans import ScanReader, ScanWriter
from logger.store.tables import Row, StoreIdentity

KEY = SeriesKey("28-000000000001", "temperature_c", 16)
NOBODY = 65_534


def scan(slot):
    return Scan(slot, 1, (Reading(KEY, Grade.OK, slot % 100),))


def run(folder, statement):
    connection = sqlite3.connect(folder / database.FILE_NAME)
    try:
        with connection:
            return connection.execute(statement).fetchall()
    finally:
        connection.close()


def in_child(work, *, user=None):
    """Run in a process of its own, perhaps as somebody else; fail with what it failed with."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the child of a process with threads only does this
        child = os.fork()
    if child == 0:
        try:
            if user is not None and os.geteuid() == 0:
                os.setuid(user)
            work()
        except BaseException:  # noqa: BLE001 - the parent must hear of anything
            traceback.print_exc()
            os._exit(1)
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


def test_a_fresh_store_is_at_the_newest_schema(store, tmp_path):
    with store.engine.connect() as connection:
        assert database.schema_of(connection) == database.HEAD
        pragmas = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
            for name in (
                *("journal_mode", "synchronous", "foreign_keys"),
                *("page_size", "cache_size", "busy_timeout"),
            )
        }
    assert pragmas == {
        "journal_mode": "wal",
        "synchronous": 2,  # FULL
        "foreign_keys": 1,
        "page_size": database.PAGE_BYTES,
        "cache_size": -database.WRITES_KB,
        "busy_timeout": database.BUSY_MS,
    }
    card = database.identity(store.engine)
    database.prepare(tmp_path)
    assert database.identity(store.engine) == card


def test_the_number_of_the_newest_migration_is_the_programs():
    scripts = ScriptDirectory.from_config(migrating.config())
    assert scripts.get_current_head() == database.HEAD
    numbers = [script.revision for script in scripts.walk_revisions()]
    assert numbers == sorted(numbers, reverse=True)


def test_migrations_end_in_the_schema_the_tables_declare(tmp_path):
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / database.FILE_NAME).touch()
    database.migrate(tmp_path / "old")
    database.prepare(tmp_path / "new")
    schemas = [
        run(tmp_path / name, "SELECT name, sql FROM sqlite_master WHERE sql NOTNULL ORDER BY name")
        for name in ("old", "new")
    ]
    assert [name for name, _ in schemas[0]] == [name for name, _ in schemas[1]]
    for (_, migrated), (_, declared) in zip(*schemas, strict=True):
        assert as_set(migrated) == as_set(declared)
    engine = database.engine(tmp_path / "old")
    with engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, Row.metadata) == []
    engine.dispose()


def as_set(sql):
    """Compare what is declared, not the order constraints stand in."""
    return {part.strip(' ,\n\t"') for part in sql.replace("\n", "").replace("\t", "").split(",")}


def test_a_migration_that_fails_leaves_the_store_as_it_was(store, tmp_path, monkeypatch):
    store.keep([scan(slot) for slot in range(1000)])

    def fails(config, _):
        config.attributes["connection"].exec_driver_sql("DROP TABLE chunks")
        raise StoreError("No more.")

    monkeypatch.setattr(migrating.command, "upgrade", fails)
    with pytest.raises(StoreError, match="No more"):
        database.migrate(tmp_path)
    assert len(store.reader.after(-1, 2000)) == 1000


def test_migrating_a_store_of_today_changes_nothing(store, tmp_path):
    store.keep([scan(slot) for slot in range(1000)])
    database.migrate(tmp_path)
    database.prepare(tmp_path)
    assert len(store.reader.after(-1, 2000)) == 1000


@pytest.mark.parametrize(
    ("number", "sentence"),
    [("0000", "has schema 0000, this program needs .*: run wormtub migrate"),
     ("9999", "has schema 9999, newer than this program's .*: update the program")],
)  # fmt: skip
def test_another_schema_is_told_from_ones_own(store, tmp_path, number, sentence):
    store.keep([scan(1)])
    run(tmp_path, f"UPDATE alembic_version SET version_num = '{number}'")  # noqa: S608
    with pytest.raises(SchemaError, match=sentence):
        database.prepare(tmp_path)
    assert store.reader.latest() == scan(1)


def test_a_newer_schema_is_not_migrated(store, tmp_path):
    run(tmp_path, "UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(SchemaError, match="newer than this program's"):
        database.migrate(tmp_path)


def test_two_that_start_at_once_make_one_store(tmp_path):
    found = []

    def start():
        database.prepare(tmp_path)
        engine = database.engine(tmp_path)
        found.append(database.identity(engine))
        engine.dispose()

    threads = [threading.Thread(target=start) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 4
    assert len(set(found)) == 1


def test_a_store_under_migration_is_waited_for_but_not_for_ever(tmp_path, monkeypatch):
    monkeypatch.setattr(database, "MIGRATION_WAIT_S", 0.0)
    with hold(tmp_path, "migrate"), pytest.raises(InUseError, match="Another migrate"):
        database.prepare(tmp_path)
    database.prepare(tmp_path)


def test_a_file_of_something_else_is_left_alone(tmp_path):
    (tmp_path / database.FILE_NAME).write_text("a shopping list, longer than a header is\n" * 9)
    with pytest.raises(StoreError, match="is not a store of this program"):
        database.prepare(tmp_path)
    assert (tmp_path / database.FILE_NAME).read_text().startswith("a shopping list")


def test_a_database_of_something_else_is_left_alone(tmp_path):
    run(tmp_path, "CREATE TABLE shopping (item TEXT)")
    before = (tmp_path / database.FILE_NAME).read_bytes()
    for start in (database.prepare, database.migrate):
        with pytest.raises(StoreError, match="is not a store of this program"):
            start(tmp_path)
    assert (tmp_path / database.FILE_NAME).read_bytes() == before


def test_a_copy_made_elsewhere_gets_its_log_again(store, tmp_path):
    """A copy that SQLite made of a store is not in WAL mode."""
    store.keep([scan(1)])
    (tmp_path / "copy").mkdir()
    run(tmp_path, f"VACUUM INTO '{tmp_path / 'copy' / database.FILE_NAME}'")
    database.prepare(tmp_path / "copy")
    assert run(tmp_path / "copy", "PRAGMA journal_mode") == [("wal",)]


def test_a_data_folder_that_is_a_file_is_refused(tmp_path):
    (tmp_path / "data").touch()
    with pytest.raises(StoreError, match=r"data folder .* cannot be written"):
        database.prepare(tmp_path / "data")


def test_a_store_that_is_not_there_is_said_to_be_missing(tmp_path):
    engine = database.engine(tmp_path, read_only=True)
    with pytest.raises(StoreError, match="cannot be opened; check that its folder exists"):
        ScanReader(engine).latest()


def test_a_read_only_data_folder_is_refused(tmp_path):
    tmp_path.chmod(0o755)
    for parent in list(tmp_path.parents)[:2]:
        parent.chmod(0o755)
    data = tmp_path / "data"
    data.mkdir(mode=0o555)

    def refused():
        with pytest.raises(StoreError, match=r"The data folder .* cannot be written"):
            database.prepare(data)

    in_child(refused, user=NOBODY)


def test_a_read_only_file_is_refused(store, tmp_path):
    store.keep([scan(1)])
    (tmp_path / database.FILE_NAME).chmod(0o444)
    for parent in [tmp_path, *list(tmp_path.parents)[:2]]:
        parent.chmod(0o777)
    (tmp_path / "migrate.lock").chmod(0o666)

    def refused():
        with pytest.raises(StoreError, match=r"cannot be (written|opened)"):
            database.prepare(tmp_path)

    in_child(refused, user=NOBODY)


def test_readers_cannot_write(store):
    store.keep([scan(1)])
    engine = store.reader.engine
    with pytest.raises(StoreError, match="cannot be written"):
        ScanWriter(engine).append(scan(2))


def test_a_full_disk_is_said_and_harms_nothing(store):
    """The disk is as full as the file may be large."""
    first = [scan(slot) for slot in range(600)]
    store.keep(first, sealed_at=0)
    limit(store, store_pages(store))
    stored = list(first)
    with pytest.raises(StoreError, match=r"The disk of .* is full; free some space"):  # noqa: PT012
        for slot in range(600, 9000):
            store.writer.append(scan(slot))
            stored.append(scan(slot))
    assert store.reader.after(-1, 9999) == stored
    limit(store, 1 << 30)
    store.writer.append(scan(9000))
    assert store.writer.seal_due(9600) == -(-len(stored) // 600) + 1
    assert store.reader.after(-1, 9999) == [*stored, scan(9000)]


def limit(store, pages):
    """Bound the file, on every connection the writer has."""
    store.writer._connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    store.writer._connection.rollback()
    raw = store.engine.raw_connection()
    raw.driver_connection.execute(f"PRAGMA max_page_count = {pages}")
    raw.close()


def store_pages(store):
    with store.engine.connect() as connection:
        return connection.exec_driver_sql("PRAGMA page_count").scalar_one()


def test_a_file_that_may_not_grow_is_said_and_harms_nothing(store, tmp_path):
    """The system refuses to write further, as a quota does."""
    store.keep([scan(1)])

    def refused():
        size = (tmp_path / "wormtub.db-wal").stat().st_size
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
        engine = database.engine(tmp_path)
        writer = ScanWriter(engine)
        with pytest.raises(StoreError, match="failed; check the card and the space on it"):
            writer.append(scan(2))
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY,) * 2)
        writer.append(scan(3))

    in_child(refused)
    assert store.reader.after(0, 9) == [scan(1), scan(3)]


def test_a_store_held_by_something_else_is_said(store, tmp_path):
    store.writer._connection.exec_driver_sql("PRAGMA busy_timeout = 1")
    store.writer._connection.rollback()
    other = sqlite3.connect(tmp_path / database.FILE_NAME, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(StoreError, match="is held by another program"):
        store.writer.append(scan(1))
    other.execute("ROLLBACK")
    other.close()
    store.writer.append(scan(1))


def test_a_damaged_chunk_is_said(store):
    store.keep([scan(slot) for slot in range(601)])
    with store.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE chunks SET readings = zeroblob(200)")
    with pytest.raises(StoreError, match="is damaged; keep a copy of it"):
        store.reader.after(0, 9)


def test_the_first_migration_goes_both_ways(tmp_path):
    (tmp_path / database.FILE_NAME).touch()
    database.migrate(tmp_path)
    engine = database.engine(tmp_path)
    with engine.begin() as connection:
        migrating.command.downgrade(migrating.config(connection), "base")
    assert run(tmp_path, "SELECT name FROM sqlite_master WHERE type = 'table'") == [
        ("alembic_version",)
    ]
    database.migrate(tmp_path)
    database.prepare(tmp_path)
    assert database.identity(engine).site.version == 7
    engine.dispose()


def test_neither_writing_nor_reading_needs_what_only_migrating_does(tmp_path):
    """Alembic costs memory and time at each start."""
    program = (
        "import sys, pathlib; from logger.store import database, export, history, scans;"
        f"database.prepare(pathlib.Path({str(tmp_path)!r}));"
        "print(*sorted({name.split('.')[0] for name in sys.modules}))"
    )
    root = str(Path(__file__).parents[3])
    loaded = subprocess.run(
        [sys.executable, "-c", program], cwd=root, check=True, capture_output=True, text=True
    ).stdout.split()
    assert {"sqlmodel", "numpy", "logger"} <= set(loaded)
    assert not {"alembic", "mako", "scipy", "pandas", "plotly", "fastapi"} & set(loaded)


def test_what_one_engine_compiled_serves_the_others(tmp_path):
    database.prepare(tmp_path)
    asked = select(StoreIdentity.site).where(StoreIdentity.id == 1).limit(7)
    found = []
    for read_only in (False, True):
        engine = database.engine(tmp_path, read_only=read_only)
        with engine.connect() as connection:
            found.append(connection.execute(asked).context.cache_hit)
        engine.dispose()
    assert found == [CacheStats.CACHE_MISS, CacheStats.CACHE_HIT]
