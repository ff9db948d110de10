"""The machine's clocks, asked without any privilege."""

from threading import Event

import pytest

from logger import clock as clocks
from logger.clock import MICRO, FakeClock, SystemClock


def test_both_clocks_are_read_together(monkeypatch):
    before, now = SystemClock().now(), SystemClock().now()
    assert now.boottime_us >= before.boottime_us
    assert abs((now.utc_us - before.utc_us) - (now.boottime_us - before.boottime_us)) < MICRO


def test_a_pair_torn_apart_is_read_again(monkeypatch):
    readings = iter([0, 400_000, 400_010, 400_020])
    monkeypatch.setattr(clocks, "_boottime_us", lambda: next(readings))
    assert SystemClock().now().boottime_us == 400_015


def test_boot_id_is_the_kernels_and_lasts():
    assert SystemClock().boot_id() == SystemClock().boot_id()
    assert len(SystemClock().boot_id()) == 36


def test_the_kernel_may_be_asked_whether_the_clock_is_synchronised():
    assert clocks._adjtimex() in range(6)  # TIME_OK ... TIME_ERROR


@pytest.mark.parametrize(("state", "says"), [(0, True), (5, False)])
def test_synchronised_as_the_kernel_says(monkeypatch, state, says):
    monkeypatch.setattr(clocks, "_adjtimex", lambda: state)
    assert SystemClock().synchronised() is says


@pytest.mark.parametrize("marked", [True, False])
def test_synchronised_as_timesyncd_says_where_the_kernel_may_not_be_asked(
    monkeypatch, tmp_path, marked
):
    monkeypatch.setattr(clocks, "_adjtimex", lambda: None)
    monkeypatch.setattr(clocks, "TIMESYNCD_MARK", tmp_path / "synchronized")
    if marked:
        (tmp_path / "synchronized").touch()
    assert SystemClock().synchronised() is marked


def test_waiting_ends_when_told_to_stop():
    stop = Event()
    assert SystemClock().wait(stop, -5) is False
    assert SystemClock().wait(stop, 1000) is False
    stop.set()
    assert SystemClock().wait(stop, 3600 * MICRO) is True


def test_the_fake_clock_keeps_both_hands():
    clock = FakeClock(utc_us=1_000_000, boottime_us=0)
    clock.wait(Event(), 500_000)
    clock.step_wall(-3600 * MICRO)
    assert (clock.now().utc_us, clock.now().boottime_us) == (1_500_000 - 3600 * MICRO, 500_000)
