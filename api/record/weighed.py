"""What a scale under the spout says came over, whatever else is put on it and taken off.

Jars are changed on a scale: the full one is lifted off, an empty one set down, a hand leans on it.
Liquid only comes, and no faster than a spout runs; a quicker step, and any down beyond what a scale
wavers by, is somebody's hand and counts for nothing. So it is the same whether one jar stands on
the scale, or a rack of them, and whether it was set to nothing or not.
"""

from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

import numpy as np

from api.house import House
from calc.quantities import MASS, FloatArray
from logger.store.grid import BUCKETS_HIGH
from logger.store.history import history
from logger.store.timeline import SECOND_US
from logger.store.tracks import tracks
from logger.store.types import to_us

# 3.6 L of water a minute; jars fill at a tenth of it. Common practice, no source.
MOST_KG_S: Final = 0.06
WAVERS_KG: Final = 0.03  # and less than the lightest jar weighs; common practice, no source
LONGEST: Final = timedelta(hours=12)  # no jar fills for longer: what was before is not read
RATE_OVER: Final = timedelta(minutes=2)
RATE_LEAST: Final = timedelta(seconds=30)


def came_kg(house: House, place_id: str, from_at: datetime, to_at: datetime) -> float | None:
    """Say what came onto the scale at a place by itself; None where it was not read."""
    times_s, masses_kg = _read(house, place_id, max(from_at, to_at - LONGEST), to_at)
    return grown_kg(times_s, masses_kg) if times_s.size else None


def comes_kg_min(house: House, place_id: str, at: datetime) -> float | None:
    """Say how fast it comes; None where it was not read for long enough."""
    times_s, masses_kg = _read(house, place_id, at - RATE_OVER, at)
    if times_s.size < 2 or times_s[-1] - times_s[0] < RATE_LEAST.total_seconds():
        return None
    return 60.0 * grown_kg(times_s, masses_kg) / float(times_s[-1] - times_s[0])


def grown_kg(times_s: FloatArray, masses_kg: FloatArray) -> float:
    """Add up what a scale's readings grew by, without what a hand did."""
    steps_kg = np.diff(masses_kg)
    by_itself = (steps_kg >= -WAVERS_KG) & (steps_kg <= WAVERS_KG + MOST_KG_S * np.diff(times_s))
    return float(steps_kg[by_itself].sum())


def _read(
    house: House, place_id: str, from_at: datetime, to_at: datetime
) -> tuple[FloatArray, FloatArray]:
    from_us, to = to_us(from_at), to_us(to_at) + SECOND_US  # the last second's as well
    wanted = [
        one
        for one in tracks(house.reader.engine, from_us, to)
        if one.place == UUID(place_id) and one.quantity == MASS.name
    ]
    buckets = min(BUCKETS_HIGH, (to - from_us) // SECOND_US + 2)
    times_s: list[FloatArray] = [np.empty(0)]
    masses_kg: list[FloatArray] = [np.empty(0)]
    for trace in history(house.reader, wanted, house.epochs, from_us, to, buckets):
        for one in trace.segments:
            at = np.flatnonzero(one.filled)
            seconds = one.first_us / SECOND_US + (at + 0.5) * one.bucket_s
            times_s.append(np.asarray(seconds, dtype=float))
            counts = (one.low[at] + one.high[at]) / 2.0
            masses_kg.append(np.asarray(counts / one.counts_per_unit, dtype=float))
    return np.concatenate(times_s), np.concatenate(masses_kg)
