"""The records that travel from the wires to the store: readings, and the scans that hold them."""

from dataclasses import dataclass
from enum import IntEnum
from typing import NamedTuple


class Grade(IntEnum):
    """How good a reading is; every grade but OK goes with no number. Stored: never renumber."""

    OK = 0
    POWER_ON = 1  # 85 °C as a one-wire probe says before its first conversion
    LOW_SUPPLY = 2  # 127.9375 °C: the supply sagged while converting
    BUS_LOW = 3  # all zeros with a valid checksum: the data line is shorted
    CRC = 4  # the checksum does not fit
    EMPTY = 5  # the kernel had nothing: the probe did not answer
    TORN = 6  # not the text a probe's file holds
    GONE = 7  # its folder has vanished
    TIMED_OUT = 8  # no answer within the sweep
    OUT_OF_RANGE = 9  # a number the sensor cannot measure


class SeriesKey(NamedTuple):  # a tuple, because every reading is looked up by it
    """One quantity of one probe, in whole counts of a declared scale."""

    probe_id: str  # the hardware's own: "28-0000075a1b2c", or "iio-bme280-pressure"
    quantity: str  # "temperature_c", "pressure_hpa": names end in their unit
    counts_per_unit: int  # 16 or 128 for temperature, 16 for pressure


@dataclass(frozen=True, slots=True)
class Reading:
    """What one series said in one scan: a count where the grade is OK, else none."""

    series: SeriesKey
    grade: Grade
    count: int | None  # fits int16

    @property
    def value(self) -> float | None:
        """The count in the series' unit, before any calibration."""
        return None if self.count is None else self.count / self.series.counts_per_unit


@dataclass(frozen=True, slots=True)
class Scan:
    """All readings of one slot: a whole second on the time axis that is never reused."""

    slot: int
    period_s: int  # the cadence it was taken at, so that a slow one is not a gap
    readings: tuple[Reading, ...]
