"""How many readings of each series were refused, by grade, over a stretch of the record."""

from collections import Counter
from collections.abc import Mapping
from threading import Lock
from typing import Final

import numpy as np
from sqlalchemy import Connection, Engine

from logger.reading import Grade, SeriesKey
from logger.store.codec import NO_READING
from logger.store.failures import file_of, told
from logger.store.sealed import BLOCK_S, Readings, load_readings
from logger.store.sealing import is_sealed
from logger.store.series import SeriesNumbers, all_numbers

GRADES: Final = len(Grade)

Counts = Mapping[SeriesKey, Counter[Grade]]


class Refusals:
    """Counts refused readings; what a sealed block says is counted once and remembered.

    Whole blocks of 600 slots are counted, so that a day is a day and up to ten minutes. A scan
    that comes late for a sealed block is counted after a restart.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._blocks: dict[int, dict[int, tuple[int, ...]]] = {}  # by block, series: per grade
        self._numbers = SeriesNumbers()
        self._counting = Lock()

    def between(self, from_slot: int, to_slot: int) -> Counts:
        """Count from the block a slot lies in to another slot, excluded."""
        first, end = from_slot // BLOCK_S, -(-to_slot // BLOCK_S)
        with told(file_of(self._engine)), self._counting, self._engine.connect() as connection:
            self._blocks = {n: c for n, c in self._blocks.items() if n >= first}
            found = [self._of_block(connection, number) for number in range(first, end)]
            keys = {n: self._numbers.key(n, connection) for block in found for n in block}
        counts: dict[SeriesKey, Counter[Grade]] = {key: Counter() for key in keys.values()}
        for block in found:
            for number, by_grade in block.items():
                refused = {Grade(g): n for g, n in enumerate(by_grade) if n and g != Grade.OK}
                counts[keys[number]].update(refused)
        return counts

    def _of_block(self, connection: Connection, number: int) -> dict[int, tuple[int, ...]]:
        if number in self._blocks:
            return self._blocks[number]
        counted = _counted(load_readings(connection, number, number + 1, all_numbers(connection)))
        if is_sealed(connection, number):
            self._blocks[number] = counted
        return counted


def _counted(readings: Readings) -> dict[int, tuple[int, ...]]:
    """Count by grade what is in a block, for the series that are in it."""
    made = {}
    for series, grades in zip(readings.series, readings.grades, strict=True):
        present = grades[grades != NO_READING]
        if present.size:
            made[series] = tuple(np.bincount(present, minlength=GRADES).tolist())
    return made
