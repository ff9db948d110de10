"""What the probes at a vessel's places said over a stretch of time, calibrated, for the record."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

import numpy as np

from api.house import House
from api.record.rests import Sample
from api.record.suggesting import Line
from logger.store import facts
from logger.store.export import rows
from logger.store.history import Trace, history
from logger.store.tables import TEMPERATURE, Vessel
from logger.store.timeline import SECOND_US, EpochTable
from logger.store.tracks import Track, tracks
from logger.store.types import to_us

MOST: Final = timedelta(hours=36)  # longer is not read through: no run lasts as long
BUCKETS: Final = 4000


def samples(
    house: House, vessel: UUID, names: Iterable[str], from_at: datetime, to_at: datetime
) -> dict[str, list[Sample]]:
    """Read the temperatures at places of a vessel; seconds are counted from 1970."""
    engine, wanted = house.reader.engine, set(names)
    from_us, to_us_ = to_us(from_at), to_us(min(to_at, from_at + MOST))
    if from_us >= to_us_:
        return {}
    vessel_name = facts.get(engine, Vessel, vessel).name
    found = {
        one.column: one
        for one in tracks(engine, from_us, to_us_)
        if _fits(one, vessel_name, wanted)
    }
    made: dict[str, list[Sample]] = {
        one.place_name: [] for one in found.values() if one.place_name is not None
    }
    if not found:
        return made
    epochs = EpochTable.load(engine)
    for row in rows(house.reader, tuple(found.values()), epochs, from_us, to_us_):
        for column, value in row.values.items():
            name = found[column].place_name
            if name is not None:
                made[name].append(Sample(row.utc_us / SECOND_US, value))
    return made


def lines(
    house: House, vessel: UUID, names: Iterable[str], from_at: datetime, to_at: datetime
) -> dict[str, Line]:
    """Read the same from the history's summaries: quick over any length, a reading a bucket."""
    engine, wanted = house.reader.engine, set(names)
    from_us, to_us_ = to_us(from_at), to_us(min(to_at, from_at + MOST))
    if to_us_ - from_us < SECOND_US:
        return {}
    vessel_name = facts.get(engine, Vessel, vessel).name
    found = [one for one in tracks(engine, from_us, to_us_) if _fits(one, vessel_name, wanted)]
    epochs = EpochTable.load(engine)
    traces = history(house.reader, found, epochs, from_us, to_us_, BUCKETS)
    return {
        trace.track.place_name: _line(trace)
        for trace in traces
        if trace.track.place_name is not None and trace.segments
    }


def _line(trace: Trace) -> Line:
    times, values = [], []
    for one in trace.segments:
        at = np.flatnonzero(one.filled)
        times.append(one.first_us / SECOND_US + (at + 0.5) * one.bucket_s)
        values.append((one.low[at] + one.high[at]) / 2.0 / one.counts_per_unit)
    return Line(np.concatenate(times), np.concatenate(values))


def _fits(track: Track, vessel: str, names: set[str]) -> bool:
    is_there = track.vessel_name == vessel and track.place_name in names
    return is_there and track.quantity == TEMPERATURE
