"""The last minutes of every probe, as arrays: for what is judged from readings that are stored."""

from dataclasses import dataclass

import numpy as np
from sqlalchemy import Engine

from calc.quantities import FloatArray
from logger.reading import SeriesKey
from logger.store.codec import NO_READING
from logger.store.failures import file_of, told
from logger.store.sealed import BLOCK_S, load_readings
from logger.store.series import SeriesNumbers, all_numbers


@dataclass(frozen=True, slots=True)
class Stretch:
    """The readings of one series over some time: the good ones, and how many were refused."""

    slots: FloatArray  # rising
    values: FloatArray  # before any calibration
    refused: int


def stretches(engine: Engine, from_slot: int, to_slot: int) -> dict[SeriesKey, Stretch]:
    """Read every series that was in a scan from one slot to another, excluded."""
    first, end = from_slot // BLOCK_S, -(-to_slot // BLOCK_S)
    numbers = SeriesNumbers()
    with told(file_of(engine)), engine.connect() as connection:
        read = load_readings(connection, first, end, all_numbers(connection))
        keys = [numbers.key(number, connection) for number in read.series]
    cut = slice(from_slot - read.first_slot, to_slot - read.first_slot)
    grades, counts = read.grades[:, cut], read.counts[:, cut]
    found = {}
    for key, grade, count in zip(keys, grades, counts, strict=True):
        present, good = grade != NO_READING, grade == 0
        if present.any():
            slots = np.flatnonzero(good) + from_slot
            found[key] = Stretch(
                slots.astype(float),
                count[good] / key.counts_per_unit,
                int(present.sum() - good.sum()),
            )
    return found
