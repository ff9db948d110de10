"""Stretches of a run without a good reading, and changes of the local clock in it. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from api.reviews.lines import Line

LEAST: Final = timedelta(minutes=5)  # shorter is no gap worth telling: slow cadence, a restart


@dataclass(frozen=True, slots=True)
class Silence:
    """Nothing was read at a place, or anywhere (None), from one moment to another."""

    place: str | None
    from_at: datetime
    to_at: datetime

    @property
    def minutes(self) -> float:
        """How long it lasted."""
        return (self.to_at - self.from_at).total_seconds() / 60.0


def silences(lines: Sequence[Line], from_at: datetime, to_at: datetime) -> list[Silence]:
    """Find gaps; those that all places share are told once, of no place."""
    each = {line.place: _of_line(line, from_at, to_at) for line in lines}
    shared = _shared(list(each.values()))
    found = [Silence(None, *one) for one in shared]
    for place, gaps in each.items():
        found += [Silence(place, *one) for one in gaps if not _within(one, shared)]
    return sorted(found, key=lambda one: (one.from_at, one.place or ""))


@dataclass(frozen=True, slots=True)
class ClockChange:
    """The local clock was put forward (positive) or back at a moment."""

    at: datetime
    by: timedelta


def clock_changes(from_at: datetime, to_at: datetime, zone: ZoneInfo) -> list[ClockChange]:
    """Find where the local clock changed in a stretch, to the second."""
    found = []
    low = from_at
    while low < to_at:
        high = min(low + timedelta(days=7), to_at)
        if _offset(low, zone) != _offset(high, zone):
            at = _change(low, high, zone)
            found.append(ClockChange(at, _offset(high, zone) - _offset(low, zone)))
        low = high
    return found


def _change(low: datetime, high: datetime, zone: ZoneInfo) -> datetime:
    before = _offset(low, zone)
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) / 2
        low, high = (middle, high) if _offset(middle, zone) == before else (low, middle)
    return high.replace(microsecond=0)


def _offset(at: datetime, zone: ZoneInfo) -> timedelta:
    return at.astimezone(zone).utcoffset() or timedelta()


Gap = tuple[datetime, datetime]


def _of_line(line: Line, from_at: datetime, to_at: datetime) -> list[Gap]:
    if line.times_s.size == 0:
        return [(from_at, to_at)]
    half = line.bucket_s / 2.0
    times = line.times_s
    edges = [(from_at, _at(times[0] - half)), (_at(times[-1] + half), to_at)]
    inner = [(_at(times[b - 1] + half), _at(times[b] - half)) for b in line.breaks.tolist()]
    return [one for one in (edges[0], *inner, edges[1]) if one[1] - one[0] >= LEAST]


def _at(at_s: float) -> datetime:
    return datetime.fromtimestamp(float(at_s), UTC)


def _shared(each: list[list[Gap]]) -> list[Gap]:
    """Intersect the gaps of all places."""
    shared = each[0] if each else []
    for gaps in each[1:]:
        shared = [
            (max(a, c), min(b, d)) for a, b in shared for c, d in gaps if min(b, d) > max(a, c)
        ]
    return [one for one in shared if one[1] - one[0] >= LEAST]


def _within(gap: Gap, shared: Sequence[Gap]) -> bool:
    """Say whether a gap is no more than one that all places share."""
    return any(a - gap[0] < LEAST and gap[1] - b < LEAST for a, b in shared)
