import threading
from contextlib import ExitStack
from pathlib import Path
from time import monotonic

import pytest

from logger.bus.onewire import OneWireBus
from logger.bus.simulated import SimulatedBus, SimulatedProbe

IDS = tuple(f"28-0000075a1b{n:02x}" for n in range(6))


@pytest.fixture
def folder(tmp_path):
    """Where a simulated bus goes; its control and IIO folders stand beside it."""
    return tmp_path / "w1" / "devices"


@pytest.fixture
def lab(folder):
    """Makes simulated buses and readers of them, and takes them down after the test."""
    with ExitStack() as stack:
        yield Lab(folder, stack)


class Lab:
    def __init__(self, folder, stack) -> None:
        self.folder, self._stack = folder, stack

    def simulate(self, *probes, **options):
        bus = SimulatedBus(self.folder, probes, **options)
        self._stack.callback(bus.close)
        return bus

    def read(self, **options):
        bus = OneWireBus(self.folder, **options)
        self._stack.callback(bus.close)
        return bus


def probe(number=0, temperature_c=20.0, **options):
    """A simulated probe that feels one temperature, or a function of time, without noise."""
    feels = temperature_c if callable(temperature_c) else lambda _: temperature_c
    return SimulatedProbe(IDS[number], feels, noise_c=0.0, **options)


@pytest.fixture
def make_probe():
    return probe


@pytest.fixture
def held():
    """Counts what a leak would add to: open files and threads."""
    return lambda: (len(list(Path("/proc/self/fd").iterdir())), threading.active_count())


@pytest.fixture
def until():
    """Waits for a condition, within a deadline."""

    def wait(condition, within_s=10.0):
        give_up_s = monotonic() + within_s
        while not condition():
            assert monotonic() < give_up_s

    return wait


@pytest.fixture
def ids():
    return IDS
