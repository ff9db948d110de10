"""What stands on the live page: the last scan, last good values and trends, line by line."""

from collections import Counter, deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from api.layout import Channel, Layout, Line
from calc.trend import slope_per_minute
from logger.reading import Grade, Reading, Scan

COUNTED_S: Final = 3600
TREND_S: Final = 60  # common practice: long enough for 1/16 °C steps, short enough to steer by


@dataclass(frozen=True, slots=True)
class Good:
    """A good reading, before calibration."""

    slot: int
    raw: float


@dataclass(frozen=True, slots=True)
class Standing:
    """What a line shows now; the value is None unless the grade is OK."""

    line: Line
    value: float | None
    grade: Grade
    good_slot: int | None
    last_good_value: float | None
    trend_per_min: float | None


@dataclass(frozen=True, slots=True)
class ChannelHealth:
    """How well a channel has read; the counts are of the last hour's refused readings."""

    grade: Grade | None
    good_slot: int | None
    bad: Counter[Grade]


@dataclass(slots=True)
class Board:
    """The latest of everything. Belongs to the event loop; told of scans in their order."""

    layout: Layout = field(default_factory=Layout)
    latest: Scan | None = None
    tells_trends: bool = True
    _lasts: dict[Channel, Good] = field(default_factory=dict)
    _recent: dict[Channel, deque[Good]] = field(default_factory=dict)
    _bad: dict[Channel, deque[tuple[int, Grade]]] = field(default_factory=dict)
    _read: dict[Channel, Reading] = field(default_factory=dict)
    _shown: tuple[Scan | None, Layout, tuple[Standing, ...]] | None = None

    @property
    def slot(self) -> int:
        """The newest slot; 0 before the first scan."""
        return self.latest.slot if self.latest else 0

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of the page: every placed probe, and the others that the last scan has."""
        return self.layout.placed + self.layout.unplaced(self._read)

    def apply(self, scan: Scan) -> None:
        """Take in one scan. Only good readings count for trends and last good values."""
        self.latest = scan
        self._read = {Channel.of(reading.series): reading for reading in scan.readings}
        for channel, reading in self._read.items():
            if (raw := reading.value) is not None:
                self._keep(channel, Good(scan.slot, raw))
            else:
                self._count(channel, scan.slot, reading.grade)

    def remember(self, lasts: Mapping[Channel, Good], scans: Iterable[Scan]) -> None:
        """Take in what was before this service started."""
        self._shown = None
        self._lasts.update(lasts)
        for scan in scans:
            self.apply(scan)

    def standings(self) -> tuple[Standing, ...]:
        """Return what every line shows: worked out once a scan, asked for by many."""
        if (shown := self._shown) and shown[0] is self.latest and shown[1] is self.layout:
            return shown[2]
        standing = tuple(self._standing(line) for line in self.lines)
        self._shown = self.latest, self.layout, standing
        return standing

    def healths(self) -> dict[Channel, ChannelHealth]:
        """Return how well every channel known has read."""
        return {one: self._health(one) for one in {**self._lasts, **self._bad, **self._read}}

    def _health(self, channel: Channel) -> ChannelHealth:
        reading, good = self._read.get(channel), self._lasts.get(channel)
        bad = (grade for slot, grade in self._bad.get(channel, ()) if slot > self.slot - COUNTED_S)
        return ChannelHealth(
            grade=reading.grade if reading else None,
            good_slot=good.slot if good else None,
            bad=Counter(bad),
        )

    def _standing(self, line: Line) -> Standing:
        reading = self._read.get(line.channel)
        value, good = line.value(reading), self._lasts.get(line.channel)
        return Standing(
            line=line,
            value=value,
            grade=reading.grade if reading else Grade.GONE,
            good_slot=good.slot if good else None,
            last_good_value=line.calibrated(good.raw) if good else None,
            trend_per_min=self._trend(line) if value is not None and self.tells_trends else None,
        )

    def _trend(self, line: Line) -> float | None:
        kept = self._recent.get(line.channel, ())
        raw = slope_per_minute(
            [one.slot for one in kept], [one.raw for one in kept], TREND_S, self.slot
        )
        return None if raw is None else round(raw * line.slope, 3) + 0.0  # no -0

    def _keep(self, channel: Channel, good: Good) -> None:
        self._lasts[channel] = good
        kept = self._recent.setdefault(channel, deque())
        kept.append(good)
        while kept[0].slot < good.slot - TREND_S:
            kept.popleft()

    def _count(self, channel: Channel, slot: int, grade: Grade) -> None:
        counted = self._bad.setdefault(channel, deque())
        counted.append((slot, grade))
        while counted[0][0] <= slot - COUNTED_S:
            counted.popleft()
