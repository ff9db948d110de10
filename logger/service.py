"""What `wormtub log` does: one process from the wires to the store, until told to stop."""

import logging
import os
import shutil
import signal
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import timedelta
from functools import partial
from pathlib import Path
from threading import Event
from typing import Final

from sqlalchemy import Engine

from logger import locks, seen
from logger.alarm_if_silent import AlarmIfSilent
from logger.bus.sweep import Bus, open_bus
from logger.cadence import Cadence
from logger.chores import MINUTE_S, Chore, Chores, optimise, shorten_wal, watch_space
from logger.clock import MICRO, Clock, SystemClock
from logger.epochs import ClockWatch, Correction, Epoch
from logger.keeper import Keeper
from logger.loop import Loop
from logger.notify import notify
from logger.reading import Grade, Scan
from logger.seen import SeenProbes
from logger.settings import Settings
from logger.slots import Axis
from logger.state import LoggerState
from logger.store import backup, database
from logger.store.scans import ScanReader, ScanWriter
from logger.store.timeline import begin_epoch, correct_boot
from logger.store.types import to_datetime

log = logging.getLogger(__name__)

FRESH_S: Final = 30  # a scan stored later than this after its slot does not feed the watchdog
LOOK_S: Final = 10  # slots between looks at what is known of the probes
DRAIN_WITHIN_S: Final = 20.0
HOUR_S: Final = 3600
SIX_HOURS_S: Final = 6 * HOUR_S


def run(settings: Settings, *, clock: Clock | None = None) -> int:
    """Log until SIGTERM or SIGINT; returns the exit code, 0 if every scan taken is stored."""
    data = settings.data
    with locks.hold(data, "logger"), _told_to_stop() as stop:
        database.prepare(data)
        with closing(open_bus(settings)) as bus, _opened(data) as engine:
            left = Logger(settings, bus, engine, clock or SystemClock()).run(stop)
    return 1 if left else 0


class Logger:
    """The parts of a running logger, put together."""

    def __init__(self, settings: Settings, bus: Bus, engine: Engine, clock: Clock) -> None:
        self._data, self._engine, self._clock = settings.data, engine, clock
        self._settings = settings
        self._writer = ScanWriter(engine)
        began = clock.now()
        self._axis = Axis.start(began, self._writer.last_slot())
        self._watch = ClockWatch(clock, self._axis, began)
        self._cadence = _resumed(Cadence(settings), engine)
        self._keeper = Keeper(self._writer, self._stored)
        self._loop = Loop(bus, clock, self._axis, self._cadence, self._before, self._put)
        self._bus, self._bus_folder, self._seen = bus, settings.bus, SeenProbes()
        self._slowest_hot_s = settings.period_hot_s + 1  # where full resolution takes longer
        self._local_alarm = AlarmIfSilent.open(settings)
        self._chores = self._made_chores()
        self._started_ms = began.utc_us // 1000
        self._last_slot: int | None = None

    def run(self, stop: Event) -> int:
        """Log until told to stop; returns how many scans could not be stored."""
        for change in self._watch.at_start():
            self._keeper.put(partial(self._record, change))
        self._chores.start()
        self._local_alarm.start()
        notify("READY=1")
        log.info("Logging to %s from slot %d.", self._data, self._axis.first_slot)
        if not self._bus.facts():
            log.warning(
                "No probe hangs on %s yet; one plugged in is read by itself.", self._bus_folder
            )
        try:
            self._loop.run(stop)
        finally:
            left = self._end()
        return left

    def _end(self) -> int:
        notify("STOPPING=1")
        self._chores.stop()
        self._local_alarm.stop()
        left = self._keeper.close(DRAIN_WITHIN_S)
        if left:
            log.error("Stopped with %d scans that the store would not take.", left)
        self._write_state()
        self._writer.close()
        return left

    def _before(self, slot: int) -> None:
        """See whether the wall clock has kept to what it said."""
        change = self._watch.check(self._clock.now(), slot)
        if change is not None:
            log.warning("The wall clock was set or synchronised; slots and times are told apart.")
            self._keeper.put(partial(self._record, change))
            self._chores.clock_stepped()

    def _put(self, scan: Scan) -> None:
        """Queue a scan, and now and then what is new of the probes."""
        if scan.slot % LOOK_S == 0 or scan.slot == self._axis.first_slot:
            news = self._seen.news(self._bus.facts(), scan)
            if news:
                self._keeper.put(partial(seen.record, self._engine, news))
        self._keeper.put(scan)

    def _record(self, change: Epoch | Correction) -> None:
        if isinstance(change, Epoch):
            begin_epoch(
                self._engine,
                from_slot=change.from_slot,
                offset_us=change.offset_us,
                boot_id=change.boot_id,
                boottime_us=change.boottime_of_zero_us,
                synchronised=change.synchronised,
            )
        else:
            correct_boot(
                self._engine,
                change.boot_id,
                utc_of_boot_us=change.utc_of_boot_us,
                synchronised=change.synchronised,
            )

    def _stored(self, scan: Scan) -> None:
        """Tell the manager of a scan that is safe; only a fresh one feeds its watchdog."""
        self._last_slot = scan.slot
        self._local_alarm.stored(scan.slot, hot=scan.period_s <= self._slowest_hot_s)
        good = sum(reading.grade is Grade.OK for reading in scan.readings)
        status = f"STATUS=Slot {scan.slot} stored, {good} of {len(scan.readings)} readings good."
        age_us = self._axis.position_us(self._clock.now()) - scan.slot * MICRO
        notify(f"WATCHDOG=1\n{status}" if age_us <= FRESH_S * MICRO else status)

    def _made_chores(self) -> Chores:
        return Chores(
            Chore("space", MINUTE_S, partial(watch_space, self._data)),
            Chore("state", MINUTE_S, self._write_state),
            Chore("wal", 10 * MINUTE_S, partial(shorten_wal, self._engine)),
            Chore("backup", HOUR_S, self._back_up),
            Chore("optimise", SIX_HOURS_S, partial(optimise, self._engine)),
        )

    def _back_up(self) -> None:
        """Make the backup that is due; a small machine is off at night, so it is asked hourly."""
        every = timedelta(hours=self._settings.backup_every_h)
        if every:
            now = to_datetime(self._clock.now().utc_us)
            backup.keep_up(self._data, self._settings.backups, every=every, now=now)

    def _write_state(self) -> None:
        LoggerState(
            process=os.getpid(),
            started_at_ms=self._started_ms,
            written_at_ms=self._clock.now().utc_us // 1000,
            last_slot=self._last_slot,
            waiting_scans=self._keeper.waiting,
            dropped_scans=self._keeper.dropped,
            missed_slots=self._loop.missed_slots,
            free_bytes=shutil.disk_usage(self._data).free,
            sounder_problem=self._local_alarm.problem,
        ).write(self._data)


def _resumed(cadence: Cadence, engine: Engine) -> Cadence:
    last = ScanReader(engine).latest()
    if last is not None:
        cadence.resume(last)
    return cadence


@contextmanager
def _opened(data: Path) -> Iterator[Engine]:
    engine = database.engine(data)
    try:
        yield engine
    finally:
        engine.dispose()


@contextmanager
def _told_to_stop() -> Iterator[Event]:
    """Turn SIGTERM and SIGINT into an event, for as long as the logger runs."""
    stop = Event()
    numbers = (signal.SIGTERM, signal.SIGINT)
    before = [signal.signal(number, lambda *_: stop.set()) for number in numbers]
    try:
        yield stop
    finally:
        for number, handler in zip(numbers, before, strict=True):
            signal.signal(number, handler)
