"""What the probes of a still said during a run, read from the history's summaries."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final, Self
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from api.alarms.events import first_judged_after
from api.house import House
from calc.arrays import distinct
from calc.quantities import FloatArray
from logger.store.failures import file_of, told
from logger.store.history import Trace, history
from logger.store.series import imported_numbers
from logger.store.tables import TEMPERATURE
from logger.store.timeline import SECOND_US, EpochTable
from logger.store.tracks import Track, tracks
from logger.store.types import to_us

STEP_S: Final = 10  # the finest of the summaries: a run of 12 h is read in some milliseconds
MOST_BUCKETS: Final = 9000  # 25 h in steps of ten seconds; longer runs are read more coarsely
OVERVIEW_STEPS: Final = 100
ROOM: Final = "room"


@dataclass(frozen=True, slots=True)
class Line:
    """One quantity at one place: the lowest and highest of each bucket that has a reading."""

    place_id: UUID | None
    place: str
    quantity: str
    bucket_s: float
    times_s: FloatArray  # the middles of the buckets, seconds since 1970
    low: FloatArray
    high: FloatArray
    breaks: NDArray[np.intp]  # buckets before which there was a gap
    counts_per_unit: int  # the values are whole counts of this scale
    is_watched: bool = False  # a vessel's, read by the logger: the alarms judged what it said

    @property
    def values(self) -> FloatArray:
        """The middle between the lowest and the highest of each bucket."""
        return (self.low + self.high) / 2.0

    def between(self, from_s: float, to_s: float) -> Self:
        """Keep the buckets whose middles lie in a stretch of time."""
        first, last = np.searchsorted(self.times_s, (from_s, to_s))
        inside = self.breaks[(self.breaks > first) & (self.breaks < last)] - first
        cut = slice(int(first), int(last))
        return type(self)(
            self.place_id, self.place, self.quantity, self.bucket_s,
            self.times_s[cut], self.low[cut], self.high[cut], inside, self.counts_per_unit,
            self.is_watched,
        )  # fmt: skip

    def at(self, at_s: float, within_s: float = 60.0) -> float | None:
        """Return what was read at a moment; None where nothing was read near it."""
        if self.times_s.size == 0:
            return None
        place = int(np.abs(self.times_s - at_s).argmin())
        near = abs(self.times_s[place] - at_s) <= max(within_s, self.bucket_s)
        return float(self.values[place]) if near else None


@dataclass(frozen=True, slots=True)
class Lines:
    """All lines of a run: of its still by place and quantity, and the house's pressure."""

    lines: Sequence[Line]

    def of(self, place: str, quantity: str = TEMPERATURE) -> Line | None:
        """Return a place's line, where there is one with readings."""
        return next(
            (one for one in self.lines if (one.place, one.quantity) == (place, quantity)), None
        )

    def measuring(self, quantity: str) -> Line | None:
        """Return the first line of a quantity, wherever it is measured."""
        return next((one for one in self.lines if one.quantity == quantity), None)

    @property
    def are_watched(self) -> bool:
        """Say whether the alarms judged any of them."""
        return any(one.is_watched for one in self.lines)

    @property
    def temperatures(self) -> Sequence[Line]:
        """The lines that are temperatures."""
        return [one for one in self.lines if one.quantity == TEMPERATURE]


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which lines are read: of a still and of the house, from when to when, how finely."""

    still: str | None
    from_at: datetime
    to_at: datetime
    names: frozenset[str] | None = None  # places and quantities; None is all
    step_s: int = STEP_S

    @property
    def coarsely(self) -> Self:
        """The same of all places in no more than a hundred steps, which costs next to nothing."""
        span_s = int((self.to_at - self.from_at).total_seconds())
        return replace(self, names=None, step_s=max(STEP_S, span_s // OVERVIEW_STEPS))


@dataclass(frozen=True, slots=True)
class Laid:
    """What was measured where over a stretch: read once, for the lines of any run in it."""

    house: House
    tracks: Sequence[Track]
    epochs: EpochTable
    imported: frozenset[int]  # series that no logger read
    judged_after: int  # the scan before the first that the alarms judged

    @classmethod
    def read(cls, house: House, from_at: datetime, to_at: datetime) -> "Laid":
        """Read it from the store."""
        engine = house.reader.engine
        found = tracks(engine, to_us(from_at), to_us(to_at))
        with told(file_of(engine)), engine.connect() as connection:
            epochs = EpochTable.read(connection)
            imported = frozenset(number for number, _ in imported_numbers(connection))
        return cls(house, found, epochs, imported, first_judged_after(engine) or 0)

    def lines(self, wanted: Wanted) -> Lines:
        """Read the lines wanted."""
        from_us, end_us = to_us(wanted.from_at), to_us(wanted.to_at)
        if end_us - from_us < SECOND_US:
            return Lines(())
        found = [
            one for one in self.tracks if belongs(one, wanted.still) and _is_in(one, wanted.names)
        ]
        buckets = min(-(-(end_us - from_us) // (wanted.step_s * SECOND_US)) + 2, MOST_BUCKETS)
        read = history(self.house.reader, found, self.epochs, from_us, end_us, buckets)
        lines = (
            replace(_line(one, from_us, end_us), is_watched=self._is_watched(one, from_us, end_us))
            for one in read
            if one.segments
        )
        return Lines([one for one in lines if one.times_s.size])

    def _is_watched(self, trace: Trace, from_us: int, end_us: int) -> bool:
        """Say whether a vessel's line was read in a stretch, and judged.

        An imported trace was read by no logger, and an earlier past judged by nobody.
        """
        if trace.track.vessel_name is None:
            return False
        return any(
            max(piece.from_slot, cut.from_slot, self.judged_after + 1)
            < min(piece.to_slot, cut.to_slot)
            for piece in trace.track.pieces
            if piece.series not in self.imported
            for cut in self.epochs.slots(from_us, end_us)
        )


def read_lines(house: House, wanted: Wanted) -> Lines:
    """Read lines over one stretch."""
    return Laid.read(house, wanted.from_at, wanted.to_at).lines(wanted)


def belongs(track: Track, still: str | None) -> bool:
    """Say whether a track is a still's, or the room's or a quantity of the whole house."""
    of_house = track.vessel_name is None and track.quantity != TEMPERATURE
    return of_house or track.place_name == ROOM or (
        track.vessel_name is not None and track.vessel_name == still
    )  # fmt: skip


def _is_in(track: Track, wanted: frozenset[str] | None) -> bool:
    return wanted is None or track.place_name in wanted or track.quantity in wanted


def _line(trace: Trace, from_us: int, end_us: int) -> Line:
    """Put the segments of a line one after the other; what lies beyond the stretch stays out."""
    times, lows, highs, breaks, count = [], [], [], list[int](), 0
    for one in trace.segments:
        at = np.flatnonzero(one.filled)
        middles = one.first_us / SECOND_US + at * one.bucket_s + (one.bucket_s - 1) / 2.0
        inside = (middles >= from_us / SECOND_US) & (middles < end_us / SECOND_US)
        at, middles = at[inside], middles[inside]
        breaks += [count, *(count + np.searchsorted(at, one.breaks)).tolist()]
        times.append(middles)
        lows.append(one.low[at] / one.counts_per_unit)
        highs.append(one.high[at] / one.counts_per_unit)
        count += at.size
    track, every = trace.track, np.concatenate(times)
    kept = _rising(every)
    return Line(
        track.place,
        track.place_name or track.quantity,
        track.quantity,
        float(trace.segments[0].bucket_s),
        every[kept],
        np.concatenate(lows)[kept],
        np.concatenate(highs)[kept],
        _inner(np.searchsorted(kept, breaks), kept.size),
        max(one.counts_per_unit for one in trace.segments),
    )


def _rising(times_s: FloatArray) -> NDArray[np.intp]:
    """Choose what goes forward: where a clock was put back, its hour is not told twice."""
    before = np.concatenate(([-np.inf], np.maximum.accumulate(times_s)[:-1]))
    return np.flatnonzero(times_s > before)


def _inner(breaks: NDArray[np.intp], size: int) -> NDArray[np.intp]:
    found = distinct(breaks)
    return found[(found > 0) & (found < size)]
