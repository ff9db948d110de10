"""The loop against a fake clock: on the grid, no drift, no pile-up."""

from threading import Event

import pytest

from logger.cadence import Cadence
from logger.clock import MICRO, FakeClock
from logger.loop import Loop
from logger.reading import Grade, Reading, SeriesKey
from logger.settings import Settings
from logger.slots import Axis

POT = SeriesKey("28-0000075a1b2c", "temperature_c", 16)
NOON = 1_790_000_000


class Bus:
    """Takes the time it is told to take, and notes when it was asked."""

    def __init__(self, clock, stop, sweeps_us, temperature_c) -> None:
        self.clock, self.stop, self.sweeps_us = clock, stop, list(sweeps_us)
        self.temperature_c, self.asked_us, self.deadlines = temperature_c, [], []

    def read_scan(self, *, deadline_s):
        self.asked_us.append(self.clock.now().boottime_us)
        self.deadlines.append(deadline_s)
        self.clock.pass_time(self.sweeps_us.pop(0))
        if not self.sweeps_us:
            self.stop.set()
        return (Reading(POT, Grade.OK, round(self.temperature_c * 16)),)

    def close(self):
        pass


def nothing(slot):
    pass


def ran(sweeps_us, *, temperature_c=78.0, clock=None, before=nothing, **settings):
    clock, stop, scans = clock or FakeClock(utc_us=NOON * MICRO + 300_000), Event(), []
    bus = Bus(clock, stop, sweeps_us, temperature_c)
    axis = Axis.start(clock.now(), None)
    loop = Loop(bus, clock, axis, Cadence(Settings(**settings)), before, scans.append)
    loop.run(stop)
    begun = [
        (asked - axis.boottime_of_zero_us) - scan.slot * MICRO
        for asked, scan in zip(bus.asked_us, scans, strict=True)
    ]
    return [scan.slot - NOON for scan in scans], begun, loop, scans, bus


def test_one_a_second_while_hot_each_exactly_at_its_second():
    slots, begun, loop, scans, _ = ran([480_000] * 50)
    assert slots == list(range(1, 51))
    assert set(begun) == {0}
    assert loop.missed_slots == 0
    assert {scan.period_s for scan in scans[1:]} == {1}


def test_every_ten_seconds_on_the_tens_while_idle():
    slots, begun, _, scans, _ = ran([480_000] * 6, temperature_c=18.0)
    assert slots == [1, 10, 20, 30, 40, 50]  # the first at once
    assert set(begun) == {0}
    assert {scan.period_s for scan in scans} == {10}


def test_sweeps_of_any_length_do_not_drift():
    slots, begun, _, _, _ = ran([100_000, 700_000, 300_000, 950_000] * 25)
    assert slots == list(range(1, 101))
    assert set(begun) == {0}


def test_a_late_scan_takes_the_slot_whose_second_is_not_over():
    slots, begun, loop, _, _ = ran([480_000, 1_200_000, 480_000, 480_000])
    assert slots == [1, 2, 3, 4]
    assert begun == [0, 0, 200_000, 0]
    assert loop.missed_slots == 0


def test_missed_slots_are_counted_and_do_not_pile_up():
    slots, begun, loop, _, _ = ran([480_000, 3_600_000, 300_000, 480_000])
    assert slots == [1, 2, 5, 6]
    assert begun == [0, 0, 600_000, 0]
    assert loop.missed_slots == 2


def test_missed_slots_count_by_the_grid_while_idle():
    slots, _, loop, _, _ = ran([480_000, 25_000_000, 480_000], temperature_c=18.0)
    assert slots == [1, 10, 40]
    assert loop.missed_slots == 2


def test_a_machine_that_slept_goes_on_at_the_next_slot():
    class Sleeping(FakeClock):
        def wait(self, stop, timeout_us):
            if self.utc_us >= NOON * MICRO + 3_000_000:
                self.pass_time(600_000_000 if self.utc_us < (NOON + 60) * MICRO else 0)
            return super().wait(stop, timeout_us)

    slots, _, loop, _, _ = ran([480_000] * 6, clock=Sleeping(utc_us=NOON * MICRO))
    assert slots[:4] == [0, 1, 2, 3]
    assert slots[4:] == [604, 605]
    assert loop.missed_slots == 600


@pytest.mark.parametrize("step_us", [3600 * MICRO, -3600 * MICRO])
def test_wall_clock_steps_move_nothing(step_us):
    clock = FakeClock(utc_us=NOON * MICRO + 300_000)
    stepped = []

    def step(slot):
        if len(stepped) == 5:
            clock.step_wall(step_us)
        stepped.append(slot)

    slots, begun, _, _, _ = ran([480_000] * 20, clock=clock, before=step)
    assert slots == list(range(1, 21))
    assert set(begun) == {0}


def test_a_sweep_ends_before_the_next_slot_and_within_two_seconds():
    *_, bus = ran([480_000] * 3)
    assert bus.deadlines == [2.0, 0.97, 0.97]
