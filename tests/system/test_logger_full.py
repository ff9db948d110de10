"""A disk that fills up, a file that is held, under a running logger: scans wait, none is lost."""

import contextlib
import errno
import shutil
import signal
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

import pytest

from logger.state import LoggerState
from logger.store import database
from logger.store.scans import ScanReader

pytestmark = pytest.mark.system

SMALL_DISK = (
    "unshare", "--user", "--map-root-user", "--mount", "sh", "-c",
    'mount -t tmpfs -o size=2m none "$0" && exec "$@"',
)  # fmt: skip


def slots_in(data):
    engine = database.engine(data, read_only=True)
    found = [scan.slot for scan in ScanReader(engine).scans(0, 1 << 40)]
    engine.dispose()
    return found


def is_unbroken(slots):
    return slots == list(range(slots[0], slots[-1] + 1))


def fill(folder):
    """Take every byte that is left."""
    with (folder / "ballast").open("wb", buffering=0) as ballast:
        try:
            while True:
                ballast.write(bytes(512))
        except OSError as full:
            if full.errno != errno.ENOSPC:
                raise


@contextlib.contextmanager
def copied(logger, folder, into):
    """Copy the store while its logger stands still."""
    into.mkdir()
    logger.process.send_signal(signal.SIGSTOP)
    for file in folder.glob("wormtub.db*"):
        if not file.name.endswith("-shm"):
            shutil.copy(file, into)
    logger.process.send_signal(signal.SIGCONT)
    yield into


def test_a_disk_that_fills_up_and_is_cleared(start, demo_bus, tmp_path, acknowledged):
    data = tmp_path / "data"
    data.mkdir()
    if subprocess.run([*SMALL_DISK, data, "true"], check=False).returncode:
        pytest.skip("this machine lets an ordinary process mount nothing")
    words = ("log", "--data", data, "--bus", demo_bus.folder)
    env = {"NOTIFY_SOCKET": str(acknowledged.path)}
    logger = start(*words, env=env, under=(*SMALL_DISK, data))
    logger.until(lambda: len(acknowledged.slots) >= 2)
    seen = Path(f"/proc/{logger.process.pid}/root{data}")  # the disk is mounted for it alone
    fill(seen)
    logger.says("Scans wait in memory")
    stored = len(acknowledged.slots)
    (seen / "ballast").unlink()
    logger.says("takes scans again")
    logger.until(lambda: len(acknowledged.slots) > stored + 2)
    with copied(logger, seen, tmp_path / "copy") as copy:
        slots = slots_in(copy)
    assert is_unbroken(slots)
    assert set(acknowledged.slots[: stored + 2]) <= set(slots)
    assert "The disk of" in logger.text
    assert logger.text.count("Scans wait in memory") == 1
    assert logger.stop() == 0


def test_a_file_that_another_program_holds(start, demo_bus, tmp_path):
    logger = start("log", "--data", tmp_path / "data", "--bus", demo_bus.folder)
    logger.says("Logging to")
    logger.until(lambda: len(slots_in(tmp_path / "data")) >= 2)
    with closing(sqlite3.connect(tmp_path / "data" / "wormtub.db", isolation_level=None)) as held:
        held.execute("BEGIN IMMEDIATE")
        logger.says("Scans wait in memory")
        held.execute("ROLLBACK")
    logger.says("takes scans again")
    assert logger.stop() == 0
    slots = slots_in(tmp_path / "data")
    assert len(slots) >= 5
    assert is_unbroken(slots)
    state = LoggerState.read(tmp_path / "data")
    assert (state.waiting_scans, state.dropped_scans, state.missed_slots) == (0, 0, 0)
    assert state.last_slot == slots[-1]
