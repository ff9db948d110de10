"""The buses a site has, behind one face: every series it knows has a reading in every scan."""

import logging
import os
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from time import monotonic
from typing import Literal, Protocol

from logger.bus.discovery import Tree
from logger.bus.iio import Channel, IioBus
from logger.bus.inventory import ProbeFacts
from logger.bus.lanes import Lane, Lanes
from logger.bus.onewire import OneWireBus
from logger.errors import BusError
from logger.reading import Grade, Reading

log = logging.getLogger(__name__)

_ROOM_S = 0.02  # for a bus that ends at its deadline to hand over its readings


class Bus(Protocol):
    """Something to read scans from; for one thread at a time."""

    @property
    def sweep_s(self) -> float:
        """The time the last whole sweep took, in seconds; 0 before the first."""

    def read_scan(self, *, deadline_s: float) -> tuple[Reading, ...]:
        """Read every known series; block at most `deadline_s`. Silent ones have a grade."""

    def facts(self) -> tuple[ProbeFacts, ...]:
        """Tell what is known of every probe so far; no word on the wires."""

    def close(self) -> None:
        """Stop the threads that can be stopped."""


class BusSettings(Protocol):
    """What of the settings the buses need."""

    @property
    def bus(self) -> Path:
        """The one-wire folder, /sys/bus/w1/devices or one laid out like it."""

    @property
    def iio(self) -> tuple[Channel, ...]:
        """The IIO channels chosen."""

    @property
    def resolution_bits(self) -> int | Literal["auto"]:
        """9 to 12 bit, or whatever there is time for."""


class CompositeBus:
    """Several buses read side by side."""

    def __init__(self, buses: Sequence[Bus]) -> None:
        self._buses = [(bus, Lane(type(bus).__name__)) for bus in buses]
        self._lanes = Lanes()
        self._last: dict[int, tuple[Reading, ...]] = {}

    @property
    def sweep_s(self) -> float:
        """The slowest bus's."""
        return max(bus.sweep_s for bus, _ in self._buses)

    def read_scan(self, *, deadline_s: float) -> tuple[Reading, ...]:
        """Read all buses at once, in the order they were given."""
        scans: dict[int, tuple[Reading, ...]] = {}
        ends_at_s = monotonic() + deadline_s + _ROOM_S
        self._lanes.begin()
        for place, (bus, lane) in enumerate(self._buses):
            read = partial(bus.read_scan, deadline_s=deadline_s)
            if not lane.busy:
                self._lanes.ask(lane, read, partial(scans.__setitem__, place))
        self._lanes.run_until(ends_at_s)
        self._last |= scans
        return tuple(
            reading if place in scans else Reading(reading.series, Grade.TIMED_OUT, None)
            for place, last in sorted(self._last.items())
            for reading in last
        )

    def facts(self) -> tuple[ProbeFacts, ...]:
        """Tell the facts of all buses."""
        return tuple(facts for bus, _ in self._buses for facts in bus.facts())

    def close(self) -> None:
        """Close all buses."""
        for bus, lane in self._buses:
            lane.close()
            bus.close()


def open_bus(settings: BusSettings) -> Bus:
    """Open the site's buses, or raise a BusError that says what is missing and what to do."""
    _check_folder(settings.bus)
    channels = IioBus(settings.iio) if settings.iio else None
    bits = None if settings.resolution_bits == "auto" else settings.resolution_bits
    wires = OneWireBus(settings.bus, bits=bits)
    return wires if channels is None else CompositeBus([wires, channels])


def _check_folder(folder: Path) -> None:
    try:
        list(folder.iterdir())
    except PermissionError:
        raise _may_not_read(folder) from None
    except OSError as error:
        raise BusError(
            f"The one-wire folder {folder} cannot be read ({error.strerror}): switch the bus on "
            "(dtoverlay=w1-gpio in /boot/firmware/config.txt, then restart) or name another "
            "folder with --bus."
        ) from None
    _check_files([found.home / "w1_slave" for found in Tree(folder).thermometers()])


def _check_files(files: Sequence[Path]) -> None:
    shut = [path for path in files if not os.access(path, os.R_OK, effective_ids=True)]
    if files and shut == files:
        raise _may_not_read(shut[0])
    for path in shut:
        log.warning("This user may not read %s: it will be logged as empty.", path)


def _may_not_read(path: Path) -> BusError:
    return BusError(f"This user may not read {path}: run as one who may, or change its rights.")
