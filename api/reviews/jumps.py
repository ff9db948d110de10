"""Where temperatures jumped, and what happened next. Pure.

A jump is a change faster than a limit of its place, judged by the slope over two minutes of time
(not of samples: a slow cadence or a gap changes nothing, and refused readings are none). It lasts
while the slope stays above a third of its fastest, and its size is what the temperature moved by
meanwhile. The limits are common practice, no source: each is several times what the place does
while a run goes steadily.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final, Literal

import numpy as np

from api.reviews.lines import Line
from calc.quantities import FloatArray
from calc.trend import slopes_per_minute
from logger.store.codec import Bits

WINDOW_S: Final = 120.0
FEWEST: Final = 5
HELD: Final = 1.0 / 3.0  # of its fastest, while it lasts
EDGE: Final = 0.1  # of its size: so near its beginning and its end it has not begun, is over
JOIN_S: Final = 60.0  # two so near each other, the same way, are one
NEXT: Final = timedelta(minutes=10)
STARTING: Final = timedelta(minutes=5)  # after the first drop: vapour is still warming its way
STOPPING: Final = timedelta(minutes=2)  # before the end is marked the heat is often off

Next = Literal["alarm", "mark", "jar", "power", "nothing"]


@dataclass(frozen=True, slots=True)
class Limit:
    """What counts as a jump at a place: so fast, and so far."""

    k_min: float
    size_k: float


LIMITS: Final[dict[str, Limit]] = {
    "pot": Limit(3.0, 3.0),
    "column": Limit(1.5, 2.0),
    "head": Limit(1.0, 1.5),
    "coolant_out": Limit(1.5, 3.0),
    "coolant_in": Limit(1.0, 2.0),
    "reflux_out": Limit(3.0, 6.0),
    "spout": Limit(1.5, 3.0),
    "room": Limit(1.0, 2.0),
}
OTHER: Final = Limit(1.5, 3.0)


@dataclass(frozen=True, slots=True)
class Jump:
    """One jump at one place."""

    place: str
    from_at: datetime
    to_at: datetime
    from_c: float
    to_c: float
    fastest_k_min: float

    @property
    def size_k(self) -> float:
        """How far it went; negative downwards."""
        return self.to_c - self.from_c


@dataclass(frozen=True, slots=True)
class Event:
    """Something else that happened in a run, for what followed a jump."""

    kind: Next
    at: datetime
    says: str


def jumps(lines: Iterable[Line]) -> list[Jump]:
    """Find all jumps of a run's temperatures, in the order of time."""
    return sorted((jump for one in lines for jump in _of_line(one)), key=lambda one: one.from_at)


def what_next(jump: Jump, events: Sequence[Event]) -> list[Event]:
    """Return what happened from a jump's beginning until ten minutes after its end."""
    found = [one for one in events if jump.from_at <= one.at <= jump.to_at + NEXT]
    return sorted(found, key=lambda one: one.at)


def is_usual(jump: Jump, first_drop: datetime | None, stop: datetime | None) -> bool:
    """Say whether a jump belongs to a run's beginning or its end, as every run has them."""
    begins = first_drop is not None and jump.from_at <= first_drop + STARTING
    ends = stop is not None and jump.from_at >= stop - STOPPING
    return begins or ends


def _of_line(line: Line) -> Iterator[Jump]:
    limit = LIMITS.get(line.place, OTHER)
    times, values = line.times_s, line.values
    if times.size < FEWEST:
        return
    window_s = max(WINDOW_S, (FEWEST + 1) * line.bucket_s)
    slopes = np.nan_to_num(slopes_per_minute(times, values, window_s, FEWEST))
    for way in (1.0, -1.0):
        for first, last in _spells(times, way * slopes, limit):
            jump = _jump(line, way * slopes, first, last, window_s)
            if way * jump.size_k >= limit.size_k:
                yield jump


def _spells(times: FloatArray, slopes: FloatArray, limit: Limit) -> list[tuple[int, int]]:
    """Find the stretches in which a line moves upwards fast, each as far as it goes on moving."""
    edges = _edges(slopes >= limit.k_min)
    found: list[tuple[int, int]] = []
    for first, last in edges:
        begin, end = _extended(slopes, first, last)
        if found and (begin <= found[-1][1] or times[begin] - times[found[-1][1]] <= JOIN_S):
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((begin, end))
    return found


def _edges(moving: Bits) -> list[tuple[int, int]]:
    at = np.flatnonzero(np.diff(np.concatenate(([False], moving, [False])).astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in zip(at[::2], at[1::2], strict=True)]


def _extended(slopes: FloatArray, first: int, last: int) -> tuple[int, int]:
    """Reach out to where the slope has fallen to a third of its fastest."""
    slow = np.flatnonzero(slopes < HELD * float(slopes[first : last + 1].max()))
    before, after = np.searchsorted(slow, (first, last))
    begin = int(slow[before - 1]) + 1 if before > 0 else 0
    end = int(slow[after]) - 1 if after < slow.size else slopes.size - 1
    return begin, end


def _jump(line: Line, slopes: FloatArray, first: int, last: int, window_s: float) -> Jump:
    """Say where a jump began and ended: its slopes look back over their window."""
    times, values = line.times_s, line.values
    begin = int(np.searchsorted(times, times[first] - window_s))
    inside = values[begin : last + 1]
    way = 1.0 if values[last] >= values[begin] else -1.0
    low = begin + int((way * inside).argmin())
    high = low + int((way * values[low : last + 1]).argmax())
    edge = EDGE * abs(float(values[high] - values[low]))
    still = np.flatnonzero(way * (values[low : high + 1] - values[low]) <= edge)
    over = np.flatnonzero(way * (values[high] - values[low : high + 1]) <= edge)
    return Jump(
        line.place,
        datetime.fromtimestamp(float(times[low + int(still[-1])]), UTC),
        datetime.fromtimestamp(float(times[low + int(over[0])]), UTC),
        float(values[low]),
        float(values[high]),
        float(slopes[first : last + 1].max()),
    )
