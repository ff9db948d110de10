"""What rules measure with: slopes, rises and levels over time, by running sums.

Time counts, not samples, and a reading with a bad grade never gets here. Every detector takes the
median of the last five good readings first, so that two bad ones in a row move nothing; then sums
in whole numbers run along, which stay exact for years and cost the same for any window.
"""

from bisect import bisect_left, insort
from collections import deque
from typing import Final

TICKS: Final = 10_000  # a reading in whole parts; 1/16 and 1/128 are exact
NEIGHBOURS: Final = 5
LAG_READINGS: Final = NEIGHBOURS // 2  # the median stands for the reading this long ago
FEWEST: Final = 4  # medians a slope is drawn through
LEAST_SPAN: Final = 0.5  # of the window
LONGEST_GAP: Final = 3  # windows; what is older says nothing of now
CONTROL_CYCLES: Final = 2  # of a heat's control, that a window must exceed


class Median:
    """The median of the last five readings, and the time it stands for."""

    __slots__ = ("_order", "_recent")

    def __init__(self) -> None:
        self._recent: deque[tuple[int, int]] = deque()
        self._order: list[int] = []

    def see(self, slot: int, value: float) -> tuple[int, int] | None:
        """Take a good reading; gives (slot, ticks) once there are five."""
        ticks = round(value * TICKS)
        recent, order = self._recent, self._order
        recent.append((slot, ticks))
        insort(order, ticks)
        if len(recent) < NEIGHBOURS:
            return None
        if len(recent) > NEIGHBOURS:
            del order[bisect_left(order, recent.popleft()[1])]
        return recent[LAG_READINGS][0], order[LAG_READINGS]

    def clear(self) -> None:
        """Forget all."""
        self._recent.clear()
        self._order.clear()


class Slope:
    """The least-squares slope of medians over a window of time, in units a second."""

    __slots__ = (
        "_declared_s", "_kept", "_median", "_origin", "_period_s", "_st", "_stretched_s", "_stt",
        "_stv", "_sv", "_window_s",
    )  # fmt: skip

    def __init__(self, window_s: int, control_cycle_s: float = 0.0) -> None:
        self._declared_s = window_s
        self.mind_cycle(control_cycle_s)
        self._median = Median()
        self._kept: deque[tuple[int, int]] = deque()
        self._origin = 0
        self._st = self._sv = self._stv = self._stt = 0

    def mind_cycle(self, control_cycle_s: float) -> None:
        """Look over more than two cycles of the heat's control from now on."""
        self._window_s = window_of(self._declared_s, control_cycle_s)
        self._period_s = self._stretched_s = 0  # as far as that stretches it

    def see(self, slot: int, period_s: int, value: float) -> float | None:
        """Take a good reading; gives the slope as of now, None where it cannot tell."""
        if period_s != self._period_s:
            self._period_s = period_s
            self._stretched_s = stretched_s(self._window_s, period_s)
        window_s, kept = self._stretched_s, self._kept
        if kept and slot - kept[-1][0] > LONGEST_GAP * window_s:
            self._forget()
        found = self._median.see(slot, value)
        if found is None:
            return None
        self._add(*found)
        oldest = slot - window_s
        while kept[0][0] < oldest and len(kept) > 1:
            self._drop()
        if len(kept) < FEWEST or kept[-1][0] - kept[0][0] < LEAST_SPAN * window_s:
            return None
        return self._slope()

    def _slope(self) -> float:
        n = len(self._kept)
        spread = n * self._stt - self._st * self._st
        return (n * self._stv - self._st * self._sv) / spread / TICKS

    def _add(self, slot: int, ticks: int) -> None:
        kept = self._kept
        if not kept:
            self._origin = slot
        t = slot - self._origin
        kept.append((slot, ticks))
        self._st += t
        self._stt += t * t
        self._sv += ticks
        self._stv += t * ticks

    def _drop(self) -> None:
        slot, ticks = self._kept.popleft()
        t = slot - self._origin
        self._st -= t
        self._stt -= t * t
        self._sv -= ticks
        self._stv -= t * ticks

    def _forget(self) -> None:
        self._kept.clear()
        self._median.clear()
        self._st = self._sv = self._stv = self._stt = 0


class Rise:
    """How far the medians have risen above the lowest of a window of time."""

    __slots__ = ("_lowest", "_median", "_window_s")

    def __init__(self, window_s: int) -> None:
        self._window_s = window_s
        self._median = Median()
        self._lowest: deque[tuple[int, int]] = deque()  # rising: the first is the lowest

    def see(self, slot: int, period_s: int, value: float) -> float | None:
        """Take a good reading; gives the rise as of now, None where it cannot tell."""
        found = self._median.see(slot, value)
        if found is None:
            return None
        at, ticks = found
        lowest = self._lowest
        while lowest and lowest[-1][1] >= ticks:
            lowest.pop()
        lowest.append(found)
        while lowest[0][0] < at - stretched_s(self._window_s, period_s):
            lowest.popleft()
        return (ticks - lowest[0][1]) / TICKS


class Level:
    """What readings were on the whole between some time ago and longer ago; it can be held."""

    __slots__ = ("_from_s", "_sum", "_to_s", "_used", "_waiting")

    def __init__(self, from_s: int = 600, to_s: int = 120) -> None:
        self._from_s, self._to_s = from_s, to_s
        self._waiting: deque[tuple[int, int]] = deque()
        self._used: deque[tuple[int, int]] = deque()
        self._sum = 0

    def see(self, slot: int, value: float, *, held: bool = False) -> float | None:
        """Take a good reading; gives the level, None before there is one. Held, it stays."""
        if not held:
            waiting, used = self._waiting, self._used
            waiting.append((slot, round(value * TICKS)))
            while waiting and waiting[0][0] <= slot - self._to_s:
                used.append(waiting.popleft())
                self._sum += used[-1][1]
            while used and used[0][0] < slot - self._from_s:
                self._sum -= used.popleft()[1]
        if not self._used:
            return None
        return self._sum / len(self._used) / TICKS

    def clear(self) -> None:
        """Forget all."""
        self._waiting.clear()
        self._used.clear()
        self._sum = 0


def window_of(declared_s: int, control_cycle_s: float) -> int:
    """Return a window that exceeds two cycles of the heat's control."""
    return max(declared_s, int(CONTROL_CYCLES * control_cycle_s) + 1)


def stretched_s(window_s: int, period_s: int) -> int:
    """Return a window that holds enough readings at a cadence."""
    return max(window_s, (FEWEST + LAG_READINGS - 1) * period_s)


def delay_s(window_s: int, on_delay_s: int, period_s: int) -> int:
    """Say how long a slope needs at most to show, at a cadence, beyond the probe's own lag."""
    return LAG_READINGS * period_s + stretched_s(window_s, period_s) // 2 + on_delay_s
