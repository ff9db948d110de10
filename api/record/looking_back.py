"""What a place read over a stretch of the past, calibrated: its mean."""

from datetime import datetime, timedelta
from uuid import UUID

import numpy as np

from api.house import House
from logger.store.history import history
from logger.store.tables import TEMPERATURE
from logger.store.tracks import tracks
from logger.store.types import to_us

BUCKETS = 60


def mean_over(
    house: House, place_id: str, from_at: datetime, to_at: datetime, quantity: str = TEMPERATURE
) -> float | None:
    """Return the mean of a place's readings over a stretch; None where there is none."""
    from_us = to_us(from_at)
    to = to_us(max(to_at, from_at + timedelta(seconds=1)))
    wanted = [
        one
        for one in tracks(house.reader.engine, from_us, to)
        if one.place == UUID(place_id) and one.quantity == quantity
    ]
    means = [
        (segment.low[segment.filled] + segment.high[segment.filled]) / 2 / segment.counts_per_unit
        for trace in history(house.reader, wanted, house.epochs, from_us, to, BUCKETS)
        for segment in trace.segments
    ]
    found = [one for one in means if one.size]
    return float(np.concatenate(found).mean()) if found else None
