"""Runs as recorded traces: CSV of what the probes said, and of what was true, a line a scan.

The form is that of `wormtub export`: `time` in ISO 8601 with offset, then a column a place.
"""

import csv
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from logger.plant.history import COUNTS_PER_C, count_of, noise
from logger.plant.parameters import STILL_PLACES
from logger.plant.practice import practice
from logger.plant.run import Run

MIDNIGHT: Final = datetime(2026, 1, 1, tzinfo=UTC)  # of the scenario's first day
PRESSURE: Final = "pressure_hpa"
_COUNTS_PER_HPA: Final = 16
LONGEST_S: Final = 20 * 86_400.0
# The plant's places that a run of each kind is about, by the plain names of their columns.
_OF_STILL: Final = {place: place for place in STILL_PLACES}
COLUMNS: Final = {
    "mash": {"mash": "mash"},
    "ferment": {"ferment": "fermenter 1.ferment"},
    "strip": _OF_STILL,
    "spirit": _OF_STILL,
}


def write(
    kind: str, seed: int, folder: Path, *, during: str = "", every_s: int = 1
) -> tuple[Path, Path]:
    """Make a run of a kind by a seed and write it and its truth; the same for the same seed.

    Gives the files KIND-SEED.csv and KIND-SEED.truth.csv. Raises PlantError for a kind there is
    not, or for what `during` cannot be.
    """
    run = practice(kind, seed, during)
    columns = COLUMNS[kind] | {"room": "room"}
    said, true = (folder / f"{kind}-{seed}{end}.csv" for end in ("", ".truth"))
    with said.open("w", newline="") as said_file, true.open("w", newline="") as true_file:
        readings, truths = csv.writer(said_file), None
        readings.writerow(["time", *columns, PRESSURE])
        for values in _scans(run, tuple(columns.values()), seed, every_s):
            at = (MIDNIGHT + timedelta(seconds=run.t_s)).isoformat()
            readings.writerow([at, *values])
            row = {"time": at, **run.truth().row()}
            if truths is None:
                truths = csv.DictWriter(true_file, list(row))
                truths.writeheader()
            truths.writerow(row)
    return said, true


def _scans(run: Run, places: tuple[str, ...], seed: int, every_s: int) -> Iterator[list[str]]:
    """Read the probes every so often until the script is done: noise and steps are a probe's."""
    dice, plant, end_s = noise(seed), run.plant, run.t_s + LONGEST_S
    while True:
        shown = plant.readings()
        counts = (count_of(shown[place] + plant.size.noise_c * next(dice)) for place in places)
        hpa = round(plant.pressure_hpa * _COUNTS_PER_HPA) / _COUNTS_PER_HPA
        yield [*(f"{count / COUNTS_PER_C:g}" for count in counts), f"{hpa:.4f}"]
        if run.finished or run.t_s >= end_s:
            return
        run.advance(run.t_s + every_s, step_s=every_s)
