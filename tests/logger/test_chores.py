"""Chores: due by intervals whatever the wall clock does, and each does what it says."""

import shutil
from collections import namedtuple
from datetime import UTC, datetime, timedelta
from threading import Event

import pytest
import time_machine

from logger import chores as module
from logger.chores import Chore, Chores, optimise, shorten_wal, watch_space
from logger.errors import StoreError
from logger.reading import Scan
from logger.store import database
from logger.store.scans import ScanWriter

NOON = datetime(2026, 9, 21, 12, tzinfo=UTC)


@pytest.fixture
def running():
    made = []

    def start(*chores):
        made.append(Chores(*chores))
        made[0].start()
        return made[0]

    yield start
    for chores in made:
        chores.stop()


def test_a_chore_is_done_again_and_again(running, until):
    done = []
    running(Chore("count", 0.02, lambda: done.append(1)))
    until(lambda: len(done) >= 3)


def test_a_chore_that_fails_is_due_again_and_says_why(running, until, caplog):
    failed = []

    def fail():
        failed.append(1)
        raise StoreError("The disk is full.")

    running(Chore("tidy", 0.02, fail))
    until(lambda: len(failed) >= 3)
    assert "The chore tidy failed and is due again: The disk is full." in caplog.text


@pytest.mark.parametrize("hours", [-1, 1])
def test_after_a_step_of_the_wall_clock_intervals_count_from_now(running, hours):
    with time_machine.travel(NOON, tick=False) as wall:
        chores = running(Chore("hourly", 600, Event().set))
        due = chores._scheduler.get_job("hourly").next_run_time
        assert due == NOON + timedelta(seconds=600)
        wall.move_to(NOON + timedelta(hours=hours))
        chores.clock_stepped()
        due = chores._scheduler.get_job("hourly").next_run_time
        assert due == NOON + timedelta(hours=hours, seconds=600)


def test_after_a_step_back_a_chore_goes_on(running, until):
    done = Event()
    with time_machine.travel(NOON, tick=True) as wall:
        chores = running(Chore("soon", 0.5, done.set))
        wall.move_to(NOON - timedelta(hours=1))
        chores.clock_stepped()
        until(done.is_set, within_s=10)


Usage = namedtuple("Usage", "total used free")  # noqa: PYI024 - as shutil's own


@pytest.mark.parametrize(("free", "warned"), [(199_000_000, True), (201_000_000, False)])
def test_a_card_that_fills_up_is_spoken_of(tmp_path, monkeypatch, caplog, free, warned):
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(8 * 10**9, 7 * 10**9, free))
    assert watch_space(tmp_path) == free
    assert ("Only 199 MB are free" in caplog.text) is warned


@pytest.fixture
def store(tmp_path):
    database.prepare(tmp_path)
    engine = database.engine(tmp_path)
    yield engine
    engine.dispose()


def test_optimise_runs_outside_transactions(store):
    optimise(store)


def test_a_long_log_is_copied_and_cut(store, tmp_path, monkeypatch):
    wal = tmp_path / "wormtub.db-wal"
    writer = ScanWriter(store)
    for slot in range(1_790_000_000, 1_790_000_050):
        writer.append(Scan(slot, 1, ()))
    length = wal.stat().st_size
    assert length > 0
    assert shorten_wal(store) == length == wal.stat().st_size  # not long yet
    monkeypatch.setattr(module, "LONG_WAL_BYTES", length - 1)
    assert shorten_wal(store) == length
    assert wal.stat().st_size == 0
    assert writer.last_slot() == 1_790_000_049
    writer.close()
