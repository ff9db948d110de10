"""The writer is killed at every statement of a sealing, and around commits: nothing is lost."""

import os
import signal
import warnings

import pytest
from sqlalchemy import event

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.scans import ScanWriter

KEYS = [SeriesKey(f"28-{name}", "temperature_c", 16) for name in "abc"]


def scan(slot):
    grade = Grade.EMPTY if slot % 11 == 0 else Grade.OK
    count = None if slot % 11 == 0 else slot % 997
    return Scan(slot, 1, tuple(Reading(key, grade, count) for key in KEYS))


SCANS = [scan(slot) for slot in range(90, 1400)]


def die_at(engine, number):
    """Kill this process before a statement, counted from now, or before the commit after it."""
    left = [number]

    def count(*_):
        if left[0] == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        left[0] -= 1

    event.listen(engine, "before_cursor_execute", count)
    event.listen(engine, "commit", count)


def killed(work):
    """Run in a child; say whether it was killed, not done."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the child of a process with threads only does this
        child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL


def sealing_killed_at(folder, number):
    def seal():
        engine = database.engine(folder)
        writer = ScanWriter(engine)
        die_at(engine, number)
        writer.seal_due(1200)

    return killed(seal)


def test_a_sealing_killed_anywhere_loses_nothing(tmp_path, opening):
    with opening(tmp_path) as store:
        store.keep(SCANS, sealed_at=0)
    deaths = 0
    while sealing_killed_at(tmp_path, deaths):
        with opening(tmp_path) as store:
            assert store.reader.after(0, 5000) == SCANS
            assert sound(store)
        deaths += 1
    assert deaths > 20  # a sealing of two blocks has more statements than that
    with opening(tmp_path) as store:
        assert store.reader.after(0, 5000) == SCANS
        assert store.writer.seal_due(1200) == 0  # the one that was let live had sealed all


@pytest.mark.parametrize("number", range(3))
def test_an_append_killed_anywhere_stores_all_of_a_scan_or_nothing(tmp_path, opening, number):
    with opening(tmp_path) as store:
        store.keep(SCANS[:10])

    def append():
        engine = database.engine(tmp_path)
        writer = ScanWriter(engine)
        die_at(engine, number)
        for one in SCANS[10:]:
            writer.append(one)

    assert killed(append)
    with opening(tmp_path) as store:
        assert store.reader.after(0, 5000) == SCANS[:10]
        assert sound(store)


def sound(store):
    with store.engine.connect() as connection:
        return connection.exec_driver_sql("PRAGMA integrity_check").scalars().all() == ["ok"]
