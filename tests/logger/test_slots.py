"""The slot axis against a fake clock: never reused, unaffected by the wall clock once started."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.clock import MICRO, FakeClock
from logger.slots import Axis, on_grid

NOON_US = 1_790_000_000 * MICRO


def test_starts_at_the_wall_clock_and_shares_its_seconds():
    now = FakeClock(utc_us=NOON_US + 250_000).now()
    axis = Axis.start(now, last_slot=None)
    assert axis.position_us(now) == NOON_US + 250_000
    assert axis.first_slot == NOON_US // MICRO + 1
    assert axis.offset_us(now) == 0


def test_starts_behind_the_last_slot_when_the_wall_clock_is_behind():
    now = FakeClock(utc_us=NOON_US).now()
    axis = Axis.start(now, last_slot=NOON_US // MICRO + 1800)
    assert axis.first_slot == NOON_US // MICRO + 1801
    assert axis.offset_us(now) == -1801 * MICRO


def test_after_a_quick_restart_the_next_second_is_waited_for():
    now = FakeClock(utc_us=NOON_US + 600_000).now()
    axis = Axis.start(now, last_slot=NOON_US // MICRO + 1)
    assert axis.first_slot == NOON_US // MICRO + 2
    assert axis.offset_us(now) == 0


def test_wall_clock_steps_move_the_offset_and_not_the_axis():
    clock = FakeClock(utc_us=NOON_US)
    axis = Axis.start(clock.now(), last_slot=None)
    clock.step_wall(-3600 * MICRO)
    clock.pass_time(5 * MICRO)
    assert axis.position_us(clock.now()) == NOON_US + 5 * MICRO
    assert axis.offset_us(clock.now()) == -3600 * MICRO


@given(
    st.integers(0, 2**41 * 1000),
    st.none() | st.integers(0, 2**41 // 1000),
    st.integers(-(10**10), 10**10),
    st.integers(0, 10**10),
)
def test_first_slot_is_neither_used_nor_past(utc_us, last_slot, step_us, passed_us):
    clock = FakeClock(utc_us=utc_us)
    axis = Axis.start(clock.now(), last_slot)
    assert last_slot is None or axis.first_slot > last_slot
    assert 0 <= axis.first_slot * MICRO - axis.position_us(clock.now()) <= 2 * MICRO
    before_us = axis.position_us(clock.now())
    clock.step_wall(step_us)
    clock.pass_time(passed_us)
    assert axis.position_us(clock.now()) == before_us + passed_us


@pytest.mark.parametrize(
    ("slot", "period_s", "due"), [(7, 1, 7), (7, 10, 10), (10, 10, 10), (11, 2, 12)]
)
def test_grid(slot, period_s, due):
    assert on_grid(slot, period_s) == due
