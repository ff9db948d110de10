"""Slow chores beside the loop, by APScheduler, which follows the wall clock and is told of steps.

None of them is needed for a reading to be kept; each may fail and is due again.
"""

import logging
import shutil
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.interval import IntervalTrigger
from sqlalchemy import Engine

from logger.errors import StoreError
from logger.store.failures import file_of, told

log = logging.getLogger(__name__)

MINUTE_S: Final = 60
LOW_SPACE_BYTES: Final = 200_000_000  # common practice, no source; a month of scans takes 20 MB
LONG_WAL_BYTES: Final = 16_000_000  # four times the length at which SQLite checkpoints by itself


@dataclass(frozen=True, slots=True)
class Chore:
    """A piece of work and how often it is due."""

    name: str
    every_s: int
    work: Callable[[], object]


class Chores:
    """Runs chores in a thread of the scheduler's own, one at a time each."""

    def __init__(self, *chores: Chore) -> None:
        self._scheduler = BackgroundScheduler(timezone="UTC")
        self._chores = chores
        for chore in chores:
            self._scheduler.add_job(
                _guarded(chore),
                IntervalTrigger(seconds=chore.every_s),
                id=chore.name,
                coalesce=True,
                misfire_grace_time=None,
            )

    def start(self) -> None:
        """Begin; each chore is due after its first interval."""
        self._scheduler.start()

    def clock_stepped(self) -> None:
        """Count every interval from now again: APScheduler follows the wall clock.

        After a step of -3600 s it would sleep for an hour without a word.
        """
        for chore in self._chores:
            self._scheduler.reschedule_job(
                chore.name, trigger=IntervalTrigger(seconds=chore.every_s)
            )

    def stop(self) -> None:
        """End; a chore under way is finished."""
        if self._scheduler.running:
            self._scheduler.shutdown(wait=True)


def _guarded(chore: Chore) -> Callable[[], None]:
    def run() -> None:
        try:
            chore.work()
        except (StoreError, OSError) as error:
            log.warning("The chore %s failed and is due again: %s", chore.name, error)

    return run


def watch_space(data: Path) -> int:
    """Warn where the disk fills up; returns the bytes free."""
    free = shutil.disk_usage(data).free
    if free < LOW_SPACE_BYTES:
        log.warning(
            "Only %d MB are free on the disk of %s; make room, or scans will wait in memory.",
            free // 1_000_000,
            data,
        )
    return free


def optimise(engine: Engine) -> None:
    """Let SQLite refresh what its planner knows, as its documentation advises."""
    _outside_transactions(engine, "PRAGMA optimize")


def shorten_wal(engine: Engine) -> int:
    """Copy an overlong write-ahead log into the file, and cut it; returns its length before.

    SQLite checkpoints by itself but never cuts; a reader that stays long lets the log grow.
    """
    wal = file_of(engine).with_name(file_of(engine).name + "-wal")
    length = wal.stat().st_size if wal.exists() else 0
    if length > LONG_WAL_BYTES:
        _outside_transactions(engine, "PRAGMA wal_checkpoint(TRUNCATE)")
    return length


def _outside_transactions(engine: Engine, pragma: str) -> None:
    """Run a pragma that means nothing, or fails, inside one."""
    with told(file_of(engine)), closing(engine.raw_connection()) as connection:
        connection.cursor().execute(pragma)
