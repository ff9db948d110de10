"""A backup made in use is whole, is kept by age, and comes back row for row as a new life."""

import os
import sqlite3
import stat
from contextlib import closing
from datetime import UTC, datetime, timedelta
from threading import Thread

import pytest

from logger.errors import InUseError, StoreError
from logger.locks import hold
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import backup, database, migrating, restoring
from logger.store.backup import SCHEDULED, Backup
from logger.store.scans import ScanReader, ScanWriter

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)
KEY = SeriesKey("28-a", "temperature_c", 16)


def scan(slot):
    return Scan(slot, 1, (Reading(KEY, Grade.OK, slot % 1000),))


@pytest.fixture
def data(tmp_path):
    folder = tmp_path / "data"
    folder.mkdir()
    database.prepare(folder)
    return folder


@pytest.fixture
def writer(data):
    engine = database.engine(data)
    made = ScanWriter(engine)
    made.append_many(scan(slot) for slot in range(1, 3000))
    yield made
    made.close()
    engine.dispose()


def rows(file):
    """Return every row of every table, but for the card that a restore renews."""
    with closing(sqlite3.connect(file)) as store:
        names = [
            name for (name,) in store.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        ]
        return {
            name: sorted(store.execute(f"SELECT * FROM {name}"), key=repr)  # noqa: S608 - its own names
            for name in names
            if name != "store_identity"
        }


def test_a_copy_made_while_scans_are_written_is_one_moment_and_whole(
    data, writer, tmp_path, monkeypatch
):
    monkeypatch.setattr(backup, "STEP_PAGES", 5)
    at_each_step = []

    copied = tmp_path / "copy.db"

    def write_one(_pause_s):
        assert stat.S_IMODE(copied.stat().st_mode) == 0o600  # at no moment for others to read
        slot = 3000 + len(at_each_step)
        Thread(target=writer.append, args=(scan(slot),)).run()
        at_each_step.append(slot)

    backup.copy(data / database.FILE_NAME, copied, pause=write_one)
    assert len(at_each_step) > 3  # it was written to in between
    assert backup.check(copied) == database.HEAD
    with closing(sqlite3.connect(copied)) as store:
        assert store.execute("SELECT max(slot) FROM recent_scans").fetchone() == (2999,)
    assert writer.last_slot() == at_each_step[-1]  # and nothing that was written is lost


def test_restoring_equals_row_for_row_and_begins_a_new_epoch(data, writer):
    made = backup.make(data, data / "backups", label="by-hand", at=NOON)
    before = rows(data / database.FILE_NAME)
    old = identity_of(data)
    writer.append(scan(5000))
    aside = restoring.restore(data, made.file, at=NOON + timedelta(hours=1))
    assert rows(data / database.FILE_NAME) == before
    assert identity_of(data).site == old.site
    assert identity_of(data).epoch != old.epoch
    assert (5000,) in slots_of(aside.file)
    assert (5000,) not in slots_of(data / database.FILE_NAME)
    reader = ScanReader(database.engine(data, read_only=True))
    assert reader.latest().slot == 2999
    reader.close()
    reader.engine.dispose()


def test_a_damaged_store_gives_way_to_its_backup_and_is_kept_as_it_is(data, writer):
    made = backup.make(data, data / "backups", label="by-hand", at=NOON)
    before = rows(data / database.FILE_NAME)
    writer.close()
    store = data / database.FILE_NAME
    with closing(sqlite3.connect(store)) as opened:
        opened.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    content = bytearray(store.read_bytes())
    content[4096 * 4 : 4096 * 9] = bytes(4096 * 5)
    store.write_bytes(content)
    aside = restoring.restore(data, made.file, at=NOON)
    assert rows(store) == before
    assert (aside.file / database.FILE_NAME).read_bytes() == content
    assert [one.label for one in backup.found_in(data / "backups")] == ["by-hand"]


def test_a_store_that_is_whole_is_never_let_go_without_a_copy(data, writer, monkeypatch):
    made = backup.make(data, data / "backups", label="by-hand", at=NOON)
    writer.append(scan(5000))
    monkeypatch.setattr(backup, "ROOM", 1e12)
    with pytest.raises(StoreError, match=r"MB free and the backup takes"):
        restoring.restore(data, made.file, at=NOON)
    assert (5000,) in slots_of(data / database.FILE_NAME)


def test_the_way_back_to_an_older_program_keeps_the_schema_it_knows(data, writer, tmp_path):
    older = tmp_path / "older"
    older.mkdir()
    maker = database._maker(older)
    with maker.begin() as connection:
        migrating.upgrade(connection, older / database.FILE_NAME, "0001")
        database._give_identity(connection)
    maker.dispose()
    made = backup.make(older, older / "backups", label="upgrade", at=NOON)
    for keep_schema, schema in ((True, "0001"), (False, database.HEAD)):
        restoring.restore(data, made.file, at=NOON, keep_schema=keep_schema)
        assert backup.check(data / database.FILE_NAME) == schema


def slots_of(file):
    with closing(sqlite3.connect(file)) as store:
        return set(store.execute("SELECT slot FROM recent_scans"))


def identity_of(data):
    engine = database.engine(data)
    try:
        return database.identity(engine)
    finally:
        engine.dispose()


@pytest.mark.parametrize("kind", ["logger", "service"])
def test_a_store_in_use_is_not_replaced(data, writer, kind):
    made = backup.make(data, data / "backups", label="by-hand", at=NOON)
    with hold(data, kind), pytest.raises(InUseError, match=f"Another {kind}"):
        restoring.restore(data, made.file, at=NOON)


def test_a_backup_that_is_not_there_is_said(data, tmp_path):
    with pytest.raises(StoreError, match=r"There is no file \S+none.db that this user may read"):
        restoring.restore(data, tmp_path / "none.db", at=NOON)


@pytest.mark.parametrize("wrong", [b"", b"not a store", b"SQLite format 3\0" + bytes(5000)])
def test_what_is_no_backup_changes_nothing(data, writer, tmp_path, wrong):
    file = tmp_path / "wrong.db"
    file.write_bytes(wrong)
    before = rows(data / database.FILE_NAME)
    with pytest.raises(StoreError, match="is not a whole store of this program"):
        restoring.restore(data, file, at=NOON)
    assert rows(data / database.FILE_NAME) == before
    assert not list(data.glob("restoring-*"))


def test_a_damaged_backup_is_found_out(data, writer):
    file = backup.make(data, data / "backups", label="by-hand", at=NOON).file
    content = bytearray(file.read_bytes())
    content[-4096 * 3 : -4096] = bytes(4096 * 2)
    file.write_bytes(content)
    with pytest.raises(StoreError, match="is not a whole store of this program"):
        backup.check(file)


def test_a_newer_schema_is_left_alone(data, writer):
    file = backup.make(data, data / "backups", label="by-hand", at=NOON).file
    with closing(sqlite3.connect(file)) as store, store:
        store.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreError, match="has schema 9999, newer than this program"):
        restoring.restore(data, file, at=NOON)


def test_a_stick_that_is_not_there_is_said_and_not_written_beside(data, writer, tmp_path):
    with pytest.raises(StoreError, match="is not there; mount the stick"):
        backup.make(data, tmp_path / "stick", label="by-hand", at=NOON)
    assert not (tmp_path / "stick").exists()


def test_too_little_room_is_said_before_anything_is_written(data, writer, monkeypatch):
    monkeypatch.setattr(backup, "ROOM", 1e12)
    with pytest.raises(StoreError, match=r"MB free and the backup takes \d+ MB"):
        backup.make(data, data / "backups", label="by-hand", at=NOON)
    assert list((data / "backups").iterdir()) == []


def test_a_failed_copy_leaves_no_half_one(data, writer, monkeypatch):
    def fail(*_, **__):
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setattr(backup, "check", fail)
    with pytest.raises(StoreError, match="could not be made: disk I/O error"):
        backup.make(data, data / "backups", label="by-hand", at=NOON)
    assert list((data / "backups").iterdir()) == []


def test_the_schedule_makes_what_is_due_and_a_clock_once_ahead_does_not_stop_it(data, writer):
    folder, day = data / "backups", timedelta(days=1)
    backup.make(data, (folder), label=SCHEDULED, at=NOON + timedelta(days=400))
    left, under_way = (folder / f"wormtub-{name}.part" for name in ("left", "under-way"))
    for half, age in ((left, timedelta(days=2)), (under_way, timedelta(minutes=1))):
        half.touch()
        os.utime(half, ((NOON - age).timestamp(),) * 2)
    assert backup.keep_up(data, folder, every=day, now=NOON) is not None
    assert [one.name for one in folder.glob("*.part")] == [under_way.name]
    assert backup.keep_up(data, folder, every=day, now=NOON + timedelta(hours=23)) is None
    assert backup.keep_up(data, folder, every=day, now=NOON + timedelta(hours=24)) is not None


def test_a_year_of_daily_copies_keeps_days_weeks_and_months(tmp_path):
    made = [Backup(tmp_path / str(n), NOON - timedelta(days=n), SCHEDULED) for n in range(400)]
    gone = set(backup.spare(made, NOON))
    kept = [(NOON - one.made_at).days for one in made if one not in gone]
    assert kept[:15] == list(range(15))
    assert len([age for age in kept if 15 <= age < 63]) in {7, 8}
    assert len([age for age in kept if age >= 63]) in {11, 12, 13}
    assert len(kept) < 40


def test_copies_made_for_a_reason_are_not_thinned_by_age(tmp_path):
    made = [Backup(tmp_path / str(n), NOON - timedelta(days=100 * n), "upgrade") for n in range(7)]
    assert backup.spare(made, NOON) == made[5:]
