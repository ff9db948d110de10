"""A run's scans as a logger would have taken them, for a past that never was; stored in seconds."""

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Final

import numpy as np
from sqlalchemy import Engine

from logger.bus.iio import Channel
from logger.cadence import Cadence
from logger.plant.distillery import DEMO_PROBES, DemoProbe, on_the_scale_kg
from logger.plant.run import Run
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.slots import on_grid
from logger.store.scans import ScanWriter

STORED_TOGETHER: Final = 600
COUNTS_PER_C: Final = 16
_DRAWN_TOGETHER: Final = 4096
_LEAST, _MOST = -55 * COUNTS_PER_C, 125 * COUNTS_PER_C


class Past:
    """Takes the scans of a run, at the cadence its temperatures ask for."""

    def __init__(
        self,
        run: Run,
        cadence: Cadence,
        *,
        barometer: Channel | None = None,
        scale: Channel | None = None,
        probes: Sequence[DemoProbe] = DEMO_PROBES,
        seed: int = 1,
    ) -> None:
        self.run = run
        self._cadence = cadence
        self._noise = noise(seed)
        self._probes = [
            (probe.feels, _Said(SeriesKey(probe.probe_id, "temperature_c", COUNTS_PER_C)))
            for probe in probes
        ]
        self._barometer = None if barometer is None else barometer.series
        self._scale = None if scale is None else scale.series

    def scans(self, first_slot: int, to_slot: int) -> Iterator[Scan]:
        """Take the scans from a slot, which is where the run stands, up to another."""
        run, cadence = self.run, self._cadence
        zero_s = run.t_s - first_slot
        slot = on_grid(first_slot, cadence.period_s(first_slot))
        while slot < to_slot:
            run.advance(zero_s + slot)
            scan = Scan(slot, cadence.period_s(slot), tuple(self._readings()))
            yield scan
            cadence.see(scan, sweep_us=0)
            slot = on_grid(slot + 1, cadence.period_s(slot + 1))
        run.advance(zero_s + to_slot)

    def _readings(self) -> Iterator[Reading]:
        plant = self.run.plant
        shown, noise_c, noise = plant.readings(), plant.size.noise_c, self._noise
        for place, said in self._probes:
            yield said[round((shown[place] + noise_c * next(noise)) * COUNTS_PER_C)]
        if (series := self._barometer) is not None:
            yield Reading(series, Grade.OK, round(plant.pressure_hpa * series.counts_per_unit))
        if (series := self._scale) is not None:
            yield Reading(series, Grade.OK, round(on_the_scale_kg(plant) * series.counts_per_unit))


class _Said(dict[int, Reading]):
    """The readings of a probe by count: the same few thousand come again and again."""

    def __init__(self, series: SeriesKey) -> None:
        super().__init__()
        self._series = series

    def __missing__(self, raw: int) -> Reading:
        made = self[raw] = Reading(self._series, Grade.OK, _in_range(raw))
        return made


def count_of(shown_c: float) -> int:
    """Give the count a probe reads for what it feels."""
    return _in_range(round(shown_c * COUNTS_PER_C))


def _in_range(count: int) -> int:
    return min(max(count, _LEAST), _MOST)


def noise(seed: int) -> Iterator[float]:
    """Draw numbers of mean 0 and deviation 1, the same for the same seed."""
    dice = np.random.default_rng(seed)
    while True:
        yield from dice.standard_normal(_DRAWN_TOGETHER).tolist()


def store(engine: Engine, scans: Iterator[Scan], to_slot: int) -> int:
    """Store scans through the door every scan takes, and seal what is over; gives how many."""
    writer, number = ScanWriter(engine), 0
    try:
        while some := list(islice(scans, STORED_TOGETHER)):
            writer.append_many(some)
            number += len(some)
        writer.seal_due(to_slot)
    finally:
        writer.close()
    return number
