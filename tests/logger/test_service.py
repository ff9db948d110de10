"""A logger on a fake clock over the real store: clocks that step, reboots, and a bus that lags."""

from itertools import count
from pathlib import Path
from threading import Event

import pytest
from sqlmodel import Session, select

from logger import service
from logger.bus.inventory import ProbeFacts
from logger.clock import MICRO, FakeClock
from logger.reading import Grade, Reading, SeriesKey
from logger.service import Logger
from logger.settings import Settings
from logger.state import LoggerState
from logger.store import database
from logger.store.scans import ScanReader, ScanWriter
from logger.store.tables import ProbeSeen
from logger.store.timeline import EpochTable

POT = SeriesKey("28-0000075a1b2c", "temperature_c", 16)
FACTS = ProbeFacts(
    POT.probe_id, "DS18B20", "w1_bus_master1", 12, "external", likely_copy=False, bulk=True
)
NOON_US = 1_790_000_000 * MICRO
HOUR_US = 3600 * MICRO
HOT_COUNT = 50 * 16


class ScriptedBus:
    """A good master whose sweep takes a known time; notes the true time of each sweep."""

    def __init__(self, world, stop, scans, sweep_us=400_000) -> None:
        self.world, self.stop, self.left, self.sweep_us = world, stop, scans, sweep_us
        self.script, self.deadlines = {}, []

    def read_scan(self, *, deadline_s):
        self.deadlines.append(deadline_s)
        number = next(self.world.numbers)
        self.world.true_us[number] = self.world.now_us
        self.world.pass_time(self.sweep_us)
        self.script.get(len(self.deadlines), lambda: None)()
        self.left -= 1
        if self.left == 0:
            self.stop.set()
        return (Reading(POT, Grade.OK, HOT_COUNT + number),)

    def facts(self):
        return (FACTS,)

    def close(self):
        pass


class World:
    """The true time, the machine's idea of it, and the data folder that outlives reboots."""

    def __init__(self, data: Path) -> None:
        self.data, self.clock = data, FakeClock(utc_us=NOON_US + 100_000)
        self.now_us = self.clock.utc_us
        self.true_us, self.numbers = {}, count()
        database.prepare(data)

        class Passing(FakeClock):
            def pass_time(clock, duration_us):  # noqa: N805 - the world is self here
                FakeClock.pass_time(clock, duration_us)
                self.now_us += duration_us

        self.clock = Passing(utc_us=self.now_us)

    def pass_time(self, duration_us):
        self.clock.pass_time(duration_us)

    def log(self, scans, script=(), **settings):
        """Run a logger for so many scans; `script` does things during the nth."""
        stop = Event()
        bus = ScriptedBus(self, stop, scans)
        bus.script = dict(script)
        engine = database.engine(self.data)
        made = Logger(
            Settings(data=self.data, period_idle_s=1, **settings), bus, engine, self.clock
        )
        left = made.run(stop)
        engine.dispose()
        assert left == 0
        return made

    def set_wall(self, *, error_us, synchronised):
        """Set the wall clock so that it is wrong by so much."""
        self.clock.utc_us = self.now_us + error_us
        self.clock.is_synchronised = synchronised

    def reboot(self, *, boot, error_us):
        self.clock.reboot(boot=boot, utc_us=self.now_us + error_us)

    def stored(self):
        engine = database.engine(self.data, read_only=True)
        found = list(ScanReader(engine).scans(0, 1 << 40))
        times = EpochTable.load(engine)
        engine.dispose()
        return found, times

    def all_is_right(self):
        """No reading lost, none twice, slots only ever rise, and each time is the true one."""
        found, times = self.stored()
        numbers = [scan.readings[0].count - HOT_COUNT for scan in found]
        assert numbers == sorted(self.true_us) == list(range(len(found)))
        assert [scan.slot for scan in found] == sorted({scan.slot for scan in found})
        wrong = {
            scan.slot: times.utc_us(scan.slot) - self.true_us[number]
            for number, scan in zip(numbers, found, strict=True)
            if abs(times.utc_us(scan.slot) - self.true_us[number]) > 20_000
        }
        assert wrong == {}
        return found


@pytest.fixture
def world(tmp_path):
    return World(tmp_path)


@pytest.mark.parametrize("step_us", [HOUR_US, -HOUR_US])
def test_a_right_clock_set_wrong_and_put_right(world, step_us):
    made = world.log(
        180,
        {
            60: lambda: world.set_wall(error_us=step_us, synchronised=False),
            120: lambda: world.set_wall(error_us=0, synchronised=True),
        },
    )
    found = world.all_is_right()
    assert [scan.slot - found[0].slot for scan in found] == list(range(180))
    assert made._loop.missed_slots == 0


@pytest.mark.parametrize("error_us", [HOUR_US, -HOUR_US])
def test_a_wrong_clock_that_is_put_right_corrects_what_it_said(world, error_us):
    world.set_wall(error_us=error_us, synchronised=False)
    world.log(120, {60: lambda: world.set_wall(error_us=0, synchronised=True)})
    found = world.all_is_right()
    assert found[-1].slot - found[0].slot == 119


@pytest.mark.parametrize("error_us", [HOUR_US, -HOUR_US])
def test_while_wrong_the_record_says_what_the_wall_clock_says(world, error_us):
    world.log(60, {30: lambda: world.set_wall(error_us=error_us, synchronised=False)})
    found, times = world.stored()
    said = [times.utc_us(scan.slot) - world.true_us[i] for i, scan in enumerate(found)]
    assert [round(us / MICRO) for us in said] == [0] * 30 + [error_us // MICRO] * 30


def test_a_reboot_with_the_clock_thirty_minutes_behind(world):
    world.log(60)
    world.reboot(boot="second", error_us=-1800 * MICRO)
    world.pass_time(15 * MICRO)
    world.log(120, {90: lambda: world.set_wall(error_us=0, synchronised=True)})
    found = world.all_is_right()
    assert len(found) == 180


def test_restarts_and_unseen_steps_before_the_network_answers(world):
    world.log(30)
    world.reboot(boot="second", error_us=-1800 * MICRO)
    world.log(30)
    world.pass_time(7 * MICRO)
    world.set_wall(error_us=-900 * MICRO, synchronised=False)  # while no logger runs
    world.log(30)
    world.pass_time(3 * MICRO)
    world.log(60, {20: lambda: world.set_wall(error_us=0, synchronised=True)})
    world.all_is_right()


def test_a_clock_put_right_while_no_logger_ran(world):
    world.reboot(boot="second", error_us=-1800 * MICRO)
    world.log(30)
    world.set_wall(error_us=0, synchronised=True)
    world.log(30)
    world.all_is_right()


def test_only_the_same_boot_is_corrected(world):
    world.reboot(boot="second", error_us=-1800 * MICRO)
    world.log(30)
    world.reboot(boot="third", error_us=0)
    world.log(60, {30: lambda: world.set_wall(error_us=0, synchronised=True)})
    found, times = world.stored()
    wrong_us = [times.utc_us(scan.slot) - world.true_us[i] for i, scan in enumerate(found)]
    assert {round(us / MICRO) for us in wrong_us[:30]} == {-1800}
    assert {round(us / MICRO) for us in wrong_us[30:]} == {0}


def test_a_clock_that_becomes_synchronised_without_a_step_is_noted(world):
    world.set_wall(error_us=0, synchronised=False)
    world.log(60, {30: lambda: world.set_wall(error_us=300_000, synchronised=True)})
    found, times = world.stored()
    assert {times.utc_us(scan.slot) - scan.slot * MICRO for scan in found} == {300_000}


def test_small_corrections_of_the_clock_are_none_of_our_business(world):
    world.log(60, {30: lambda: world.set_wall(error_us=400_000, synchronised=True)})
    _, times = world.stored()
    assert {piece.offset_us for piece in times.pieces} == {0}


@pytest.fixture
def told(monkeypatch):
    messages = []
    monkeypatch.setattr(service, "notify", messages.append)
    return messages


def test_the_manager_hears_of_readiness_of_each_stored_scan_and_of_the_end(world, told):
    world.log(3)
    assert told[0] == "READY=1"
    fed = [message for message in told if message.startswith("WATCHDOG=1\nSTATUS=Slot ")]
    assert len(fed) == 3
    assert fed[0].endswith("stored, 1 of 1 readings good.")
    assert "STOPPING=1" in told


def test_a_scan_that_was_stored_late_does_not_feed_the_watchdog(world, told, monkeypatch):
    real = ScanWriter.append

    def slow(writer, scan):
        world.pass_time(31 * MICRO)
        real(writer, scan)

    monkeypatch.setattr(ScanWriter, "append", slow)
    world.log(3)
    assert sum(message.startswith("STATUS=Slot ") for message in told) == 3
    assert not any("WATCHDOG" in message for message in told)


def test_what_the_logger_says_of_itself_at_its_end(world):
    world.log(5)
    state = LoggerState.read(world.data)
    found, _ = world.stored()
    assert (state.last_slot, state.waiting_scans, state.dropped_scans) == (found[-1].slot, 0, 0)
    assert state.free_bytes > 0


def test_probes_are_recorded_as_they_were_found(world):
    world.log(5)
    engine = database.engine(world.data, read_only=True)
    with Session(engine) as session:
        [seen] = session.exec(select(ProbeSeen)).all()
    engine.dispose()
    assert (seen.probe_id, seen.kind, seen.supply) == (POT.probe_id, "DS18B20", "external")
