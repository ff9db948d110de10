"""How often to scan: judged from the temperatures themselves, so nobody has to say "hot"."""

from collections import deque
from statistics import median
from typing import Final

from logger.reading import Scan, SeriesKey
from logger.settings import Settings

# Common practice, no source: no mash or ferment is held above 45 °C for long without fire under
# it, no room warms by 1 °C in a minute, and a pot that has cooled for half an hour is idle.
HOT_C: Final = 45.0
RISE_C: Final = 1.0
RISE_WITHIN_S: Final = 60
HELD_S: Final = 30 * 60
SWEEPS_JUDGED: Final = 9
FINEST_BITS: Final = 12
LONGEST_SWEEP_S: Final = 2.0
MARGIN_S: Final = 0.03  # between the end of a sweep and the next slot


def deadline_s(period_s: int) -> float:
    """Say how long a sweep may take: it ends before the next slot, and within two seconds."""
    return min(LONGEST_SWEEP_S, period_s - MARGIN_S)


class Cadence:
    """The period of the next scan, from the scans so far."""

    def __init__(self, settings: Settings) -> None:
        self._hot_s = settings.period_hot_s
        self._idle_s = settings.period_idle_s
        self._resolution_matters = settings.resolution_bits == FINEST_BITS
        self._hot_until_slot = 0
        self._recent: dict[SeriesKey, deque[tuple[int, float]]] = {}
        self._sweeps_us: deque[int] = deque(maxlen=SWEEPS_JUDGED)

    @property
    def hot_period_s(self) -> int:
        """The period while hot: one second longer where full resolution takes longer."""
        if not self._resolution_matters or not self._sweeps_us:
            return self._hot_s
        fits = median(self._sweeps_us) < deadline_s(self._hot_s) * 1_000_000
        return self._hot_s if fits else self._hot_s + 1

    def period_s(self, slot: int) -> int:
        """Say how far apart scans are to be at this slot."""
        return min(self.hot_period_s, self._idle_s) if slot < self._hot_until_slot else self._idle_s

    def see(self, scan: Scan, sweep_us: int) -> None:
        """Judge a scan, and how long it took to read."""
        self._sweeps_us.append(sweep_us)
        warm = [self._is_hot(scan.slot, r.series, r.value) for r in scan.readings]
        if any(warm):
            self._hot_until_slot = scan.slot + HELD_S

    def resume(self, last: Scan) -> None:
        """Take up where an earlier process left off: its last period says whether it was hot."""
        if last.period_s < self._idle_s:
            self._hot_until_slot = last.slot + HELD_S

    def _is_hot(self, slot: int, series: SeriesKey, value: float | None) -> bool:
        if series.quantity != "temperature_c" or value is None:
            return False
        recent = self._recent.get(series)
        if recent is None:
            recent = self._recent[series] = deque()
        while recent and recent[0][0] < slot - RISE_WITHIN_S:
            recent.popleft()
        while recent and recent[-1][1] >= value:  # so that the lowest is always the first
            recent.pop()
        recent.append((slot, value))
        return value >= HOT_C or value - recent[0][1] >= RISE_C
