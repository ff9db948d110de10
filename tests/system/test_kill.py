"""kill -9 of the real logger at 1 Hz: what was acknowledged to another process is in the file."""

import random
import signal
import sqlite3
import struct
import time
from contextlib import closing
from pathlib import Path
from threading import Event

import pytest
from sqlalchemy import event

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.scans import ScanReader, ScanWriter

pytestmark = pytest.mark.system

KILLS = ("random", "sealing", "checkpoint") * 4
SERIES = [SeriesKey(f"28-00000000000{n}", "temperature_c", 16) for n in range(8)]
LONG_AGO = 1_700_000_400  # the start of a block
CHECKPOINT_FRAMES = 1000  # in the log, and SQLite's next commit copies it into the file
BLOCKS = 20  # of 600 slots, stored before each kill inside a checkpoint
SEALING_WRITES = 12  # of the two pages' worth that BLOCKS reach over, at least: six for each


@pytest.fixture
def data(tmp_path):
    """Make the store, and hold it open as the service does: its log outlives the logger."""
    folder = tmp_path / "data"
    folder.mkdir()
    database.prepare(folder)
    with closing(sqlite3.connect(folder / "wormtub.db")) as held:
        held.execute("SELECT count(*) FROM recent_scans").fetchone()
        yield folder


class Past:
    """Stores old scans in one commit that stays in the write-ahead log."""

    def __init__(self, data: Path) -> None:
        self.engine, self.next_slot, self.slots = database.engine(data), LONG_AGO, []
        event.listen(self.engine, "connect", self.connected)

    @staticmethod
    def connected(connection, _) -> None:
        connection.execute("PRAGMA wal_autocheckpoint = 0")
        connection.execute("PRAGMA synchronous = OFF")

    def add(self):
        fresh = range(self.next_slot, self.next_slot + BLOCKS * 600)
        readings = tuple(Reading(one, Grade.OK, 300) for one in SERIES)
        writer = ScanWriter(self.engine)
        writer.append_many(Scan(slot, 1, readings) for slot in fresh)
        writer.close()
        with closing(self.engine.raw_connection()) as connection:
            for number in range(CHECKPOINT_FRAMES):  # one frame each
                connection.cursor().execute(f"PRAGMA user_version = {number}")
        self.slots += fresh
        self.next_slot = fresh.stop


def written_at(data):
    return (data / "wormtub.db").stat().st_mtime_ns


def wait_for_checkpoint(data, before):
    """Return as soon as the file itself is written to: sooner than a pause between looks."""
    deadline = time.monotonic() + 30
    while written_at(data) == before:
        assert time.monotonic() < deadline, "no checkpoint came"


def is_inside_checkpoint(data):
    """Tell from the log's index (sqlite.org/walformat.html) whether frames are left to copy."""
    index = (data / "wormtub.db-shm").read_bytes()
    [frames], [copied] = struct.unpack_from("=I", index, 16), struct.unpack_from("=I", index, 96)
    return copied < frames


def test_twelve_kills_lose_no_acknowledged_scan(start, data, demo_bus, acknowledged):
    rng, past, inside = random.Random(2), Past(data), []
    words = ("log", "--data", data, "--bus", demo_bus.folder)
    env = {"NOTIFY_SOCKET": str(acknowledged.path)}
    past.add()
    for kill in KILLS:
        known = len(acknowledged.slots)
        if kill == "sealing":
            past.add()
            script = str(Path(__file__).with_name("logger_killed_while_sealing.py"))
            logger = start(rng.randint(1, SEALING_WRITES), *words, env=env, script=script)
            assert logger.ends() == -signal.SIGKILL, logger.text
            continue
        logger = start(*words, env=env)
        logger.until(lambda known=known: len(acknowledged.slots) >= known + 2)
        if kill == "random":
            Event().wait(rng.uniform(0, 1.5))
        else:
            before = written_at(data)
            past.add()
            wait_for_checkpoint(data, before)
        assert logger.kill() == -signal.SIGKILL
        if kill == "checkpoint":
            inside.append(is_inside_checkpoint(data))
    last = start(*words, env=env)
    known = len(acknowledged.slots)
    last.until(lambda: len(acknowledged.slots) >= known + 2)
    assert last.stop() == 0
    past.engine.dispose()

    engine = database.engine(data, read_only=True)
    stored = [scan.slot for scan in ScanReader(engine).scans(0, 1 << 40)]
    engine.dispose()
    assert any(inside)
    assert len(acknowledged.slots) >= 2 * 9
    assert len(acknowledged.slots) == len(set(acknowledged.slots))
    assert set(acknowledged.slots) <= set(stored)
    assert set(past.slots) <= set(stored)
    assert stored == sorted(set(stored))
    with closing(sqlite3.connect(data / "wormtub.db")) as store:
        assert store.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        both = "SELECT count(*) FROM recent_scans WHERE slot / 600 IN (SELECT id FROM blocks)"
        assert store.execute(both).fetchone() == (0,)
