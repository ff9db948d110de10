"""From readings to summaries: gaps, extremes and totals, at 10 s, 60 s and 600 s. Pure.

A gap ends in a slot when its good reading comes more than 2.5 periods after the last good one,
whatever lay between: nothing, or readings refused. A summary keeps only gaps longer than its own
step, since a narrower one cannot be drawn. In every array the series are rows, and time runs along
them.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from logger.store.codec import NOTHING_HIGH, NOTHING_LOW, Bits, Counts, Extremes, Periods, Totals

STEPS_S: Final = (10, 60, 600)  # each a multiple of the one before
GAP_PERIODS: Final = 2.5
UNKNOWN_GAP_S: Final = 1 << 30  # of the first good reading in sight
NOWHERE: Final = np.int32(-2)  # not next to any place

Seconds = NDArray[np.int32]
T = TypeVar("T", bound=np.generic)


@dataclass(frozen=True, slots=True)
class Summary:
    """Entries of one step."""

    extremes: Extremes
    totals: Totals


def gaps_s(good: Bits, periods: Periods, own_periods: Periods | None = None) -> Seconds:
    """Say how long the gap was that ended in each slot; 0 where none did.

    A series whose own period (one a row) is longer than the scans' is judged by its own.
    """
    places = np.where(good, np.arange(good.shape[1], dtype=np.int32), NOWHERE)
    before = np.full_like(places, NOWHERE)  # the last good place before each
    np.maximum.accumulate(places[:, :-1], axis=1, out=before[:, 1:])
    rows, at = np.nonzero(good & (before < np.arange(-1, good.shape[1] - 1)))
    last = before[rows, at]
    longer = np.maximum(periods[at], periods[last])
    if own_periods is not None:
        longer = np.maximum(longer, own_periods[rows])
    allowed = GAP_PERIODS * longer
    gaps = np.zeros(good.shape, np.int32)
    gaps[rows, at] = np.where(at - last > allowed, at - last, 0)
    gaps[rows[last < 0], at[last < 0]] = UNKNOWN_GAP_S
    return gaps


def extremes_of(counts: Counts, good: Bits, gaps: Seconds) -> Extremes:
    """Take each slot for an entry."""
    low, high = np.where(good, counts, NOTHING_LOW), np.where(good, counts, NOTHING_HIGH)
    return Extremes(low, high, gaps > 0)


def summarise(counts: Counts, good: Bits, gaps: Seconds) -> dict[int, Summary]:
    """Summarise whole blocks, at every step."""
    counted = np.where(good, counts, 0).astype(np.int64)
    made = Summary(extremes_of(counts, good, gaps), Totals(good.astype(np.int64), counted))
    summaries: dict[int, Summary] = {}
    for finer_s, step_s in pairwise((1, *STEPS_S)):
        longest = gaps.reshape(len(gaps), gaps.shape[1] // step_s, step_s).max(axis=2)
        made = _coarser(made, step_s // finer_s, longest > step_s)
        summaries[step_s] = made
    return summaries


def gathered(operation: np.ufunc, entries: NDArray[T], times: int) -> NDArray[T]:
    """Join every few neighbours by an operation; faster than reducing so short an axis."""
    made: NDArray[Any] = entries[:, ::times].copy()
    for nth in range(1, times):
        operation(made, entries[:, nth::times], out=made)
    return made


def joined(extremes: Extremes, times: int) -> Extremes:
    """Join every `times` neighbouring entries into one."""
    return Extremes(
        gathered(np.minimum, extremes.low, times),
        gathered(np.maximum, extremes.high, times),
        gathered(np.logical_or, extremes.gap, times),
    )


def _coarser(fine: Summary, times: int, long_gap: Bits) -> Summary:
    extremes, totals = joined(fine.extremes, times), fine.totals
    return Summary(
        Extremes(extremes.low, extremes.high, long_gap),
        Totals(gathered(np.add, totals.number, times), gathered(np.add, totals.sum, times)),
    )
