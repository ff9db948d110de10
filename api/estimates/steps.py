"""Ten seconds' means of one vessel, read from the store: live, after a restart and of the past.

There is one way to a step, whenever it is taken, so that an estimator that is built again from
what is stored has seen what the one before it saw.
"""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import hypot, inf
from typing import Final

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, Engine

from api.estimates.estimator import MEASURED_HPA, STEP_S, PressureBy, Step
from calc.pressure import WEATHER_HPA, weather_change
from logger.store.failures import file_of, told
from logger.store.scans import next_block
from logger.store.sealed import BLOCK_S, Readings, load_readings
from logger.store.tracks import Piece, Track

ROOM: Final = "room"
PRESSURE: Final = "pressure_hpa"
FLOW: Final = "flow"
TEMPERATURE: Final = "temperature_c"
BAROMETER_S: Final = 900  # a barometer that falls silent counts for so long: air changes slowly
FORGOTTEN_H: Final = 1000.0  # no weather is as it was, and older is no worse
BLOCKS_AT_ONCE: Final = 6  # an hour; about 0.5 MB of arrays for eight probes

Means = NDArray[np.float64]  # NaN where there was no good reading


@dataclass(frozen=True, slots=True)
class AirPressure:
    """The air's pressure at a slot: by what it is known, and how far it may be off."""

    hpa: float | None = None
    by: PressureBy = "altitude"
    error_hpa: float = WEATHER_HPA


@dataclass(frozen=True, slots=True)
class Air:
    """The pressure where no barometer says it: what was entered from a slot on, else the site's.

    What was entered ages with the weather, and gives way to what is usual at the site's altitude
    once that is the nearer guess. Where nobody said how high the site is, it stands for the place.
    """

    site_hpa: float | None = None  # usual at the site's altitude; None: nobody has said it
    entered: tuple[tuple[int, float], ...] = ()  # by slot

    def at(self, slot: int) -> AirPressure:
        """Return the pressure as well as it is known at a slot."""
        place = bisect_right(self.entered, slot, key=lambda one: one[0]) - 1
        if place < 0:
            return AirPressure(self.site_hpa)
        since, hpa = self.entered[place]
        age_h = min((slot - since) / 3600.0, FORGOTTEN_H)
        error_hpa = hypot(MEASURED_HPA, weather_change(age_h))
        nearest_hpa = inf if self.site_hpa is None else WEATHER_HPA
        if error_hpa > nearest_hpa:
            return AirPressure(self.site_hpa)
        return AirPressure(hpa, "entered", error_hpa)


@dataclass(frozen=True, slots=True)
class Ways:
    """How readings reach one vessel's places, its room and its barometer."""

    places: Mapping[str, tuple[Piece, ...]]
    air: Air = Air()

    @classmethod
    def of(cls, tracks: Sequence[Track], vessel: str, air: Air) -> "Ways":
        """Choose from all tracks those that a vessel is judged by."""
        found: dict[str, tuple[Piece, ...]] = {}
        for track in tracks:
            key = _key(track, vessel)
            if key is not None:
                found[key] = found.get(key, ()) + track.pieces
        return cls(found, air)


class StepReader:
    """Reads steps in their order; keeps nothing but the last pressure measured."""

    def __init__(self, engine: Engine, ways: Ways) -> None:
        self._engine, self._ways = engine, ways
        self._barometer: tuple[int, float] | None = None

    def read(self, from_slot: int, to_slot: int) -> Iterator[Step]:
        """Read the steps of a range; its end is a whole step's."""
        number = from_slot // BLOCK_S
        while number * BLOCK_S < to_slot:
            with told(file_of(self._engine)), self._engine.connect() as connection:
                begin = next_block(connection, number)
                if begin is None or begin * BLOCK_S >= to_slot:
                    return
                end = min(begin + BLOCKS_AT_ONCE, -(-to_slot // BLOCK_S))
                means = self._means(connection, begin, end, from_slot, to_slot)
            yield from self._steps(*means)
            number = end

    def _means(
        self, connection: Connection, begin: int, end: int, from_slot: int, to_slot: int
    ) -> tuple[list[int], dict[str, Means]]:
        """Give the last slots of the steps that have a scan, and every place's means in them."""
        pieces = [one for own in self._ways.places.values() for one in own]
        series = sorted({one.series for one in pieces})
        read = load_readings(connection, begin, end, series)
        slots = np.arange(read.first_slot, read.first_slot + read.periods.size)
        there = (read.periods > 0) & (slots >= from_slot) & (slots < to_slot)
        last = np.where(there, slots, -1).reshape(-1, STEP_S).max(axis=1)
        rows = np.flatnonzero(last >= 0)
        means = {
            key: _mean(read, own, series, slots, there)[rows]
            for key, own in self._ways.places.items()
            if any(one.from_slot < slots[-1] + 1 and one.to_slot > slots[0] for one in own)
        }
        return last[rows].tolist(), means

    def _steps(self, slots: Sequence[int], means: Mapping[str, Means]) -> Iterator[Step]:
        plain = {key: _plain(own) for key, own in means.items()}
        hpas, flows = plain.pop(PRESSURE, None), plain.pop(FLOW, None)
        for place, slot in enumerate(slots):
            air = self._pressure(slot, hpas[place] if hpas else None)
            values = {key: own[place] for key, own in plain.items()}
            flow = flows[place] if flows else None
            yield Step(slot, values, air.hpa, air.by, air.error_hpa, flow)

    def _pressure(self, slot: int, hpa: float | None) -> AirPressure:
        if hpa is not None:
            self._barometer = slot, hpa
        if self._barometer is not None and slot - self._barometer[0] <= BAROMETER_S:
            return AirPressure(self._barometer[1], "barometer", MEASURED_HPA)
        return self._ways.air.at(slot)


def end_of_steps(newest_slot: int) -> int:
    """Give the slot before which every step is over."""
    return (newest_slot + 1) // STEP_S * STEP_S


def _key(track: Track, vessel: str) -> str | None:
    if track.quantity == PRESSURE:
        return PRESSURE  # wherever it hangs, placed or not
    if track.place_name is None:
        return None
    if track.vessel_name is None:
        return ROOM if track.place_name == ROOM and track.quantity == TEMPERATURE else None
    if track.vessel_name != vessel:
        return None
    if track.quantity.startswith(FLOW):
        return FLOW
    return track.place_name if track.quantity == TEMPERATURE else None


def _mean(
    read: Readings,
    pieces: Sequence[Piece],
    series: Sequence[int],
    slots: NDArray[np.int64],
    there: NDArray[np.bool_],
) -> Means:
    """Calibrate each reading as of its own slot, then take the mean of every step's good ones."""
    total, number = np.zeros(slots.size), np.zeros(slots.size)
    for one in pieces:
        row = series.index(one.series)
        good = read.good[row] & there & (slots >= one.from_slot) & (slots < one.to_slot)
        value = read.counts[row] * (one.slope / one.counts_per_unit) + one.offset
        total += np.where(good, value, 0.0)
        number += good
    sums = total.reshape(-1, STEP_S).sum(axis=1)
    counts = number.reshape(-1, STEP_S).sum(axis=1)
    found: Means = np.divide(sums, counts, out=np.full(sums.size, np.nan), where=counts > 0)
    return found


def _plain(means: Means) -> list[float | None]:
    return [None if np.isnan(one) else float(one) for one in means]
