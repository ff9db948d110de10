"""What was estimated in a run, held against what was measured. Pure.

What is told of the moment is held against each measurement: the last telling before it. What is
told of the future is held against what came to be, a telling every five minutes, so that one that
was restated often does not count for more. A measurement has an error of its own, which is not
taken off: a band that is narrower than that is missed by good estimates as well.
"""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import floor, isnan, log10
from typing import Final

from api.reviews.figures import Figures
from api.reviews.words import MomentKey

STALE: Final = timedelta(minutes=10)  # what was told longer before is no telling of the moment
EVERY: Final = timedelta(minutes=5)
MOST_DECIMALS: Final = 3
BEFORE_END: Final = timedelta(minutes=20)
EVENTS: Final[tuple[tuple[str, MomentKey], ...]] = (
    ("minutes_to_first_drop", "first_drop"),
    ("minutes_to_end", "end"),
)
NAMES: Final[Mapping[str, str]] = {
    "spout_abv": "Strength at the spout",
    "rate_ml_min": "Rate",
    "collected_l": "Collected",
    "collected_abv": "Strength of what was collected",
    "alcohol_recovered_l": "Alcohol collected",
    "recovered_percent": "Alcohol collected, of the charge",
    "alcohol_left_l": "Alcohol left in the pot",
    "minutes_to_first_drop": "Time to the first drop",
    "minutes_to_end": "Time to the end",
    "end_collected_l": "Collected at the end",
    "end_collected_abv": "Strength of all that was collected",
    "hearts_l": "Hearts",
}


@dataclass(frozen=True, slots=True)
class Telling:
    """One quantity as it was told at a moment, with its 95 % band."""

    at_s: float
    value: float
    low: float | None
    high: float | None

    @property
    def half_band(self) -> float:
        """Half of the band; nothing without one."""
        return 0.0 if self.low is None or self.high is None else (self.high - self.low) / 2.0


@dataclass(frozen=True, slots=True)
class Told:
    """One quantity as it was told over a run, oldest first: columns; NaN is no band."""

    times_s: Sequence[float]
    values: Sequence[float]
    lows: Sequence[float]
    highs: Sequence[float]

    def one(self, place: int) -> Telling:
        """Return one telling."""
        low, high = self.lows[place], self.highs[place]
        has_band = not (isnan(low) or isnan(high))
        band = (low, high) if has_band else (None, None)
        return Telling(self.times_s[place], self.values[place], *band)

    def last_at(self, at: datetime, within: timedelta) -> Telling | None:
        """Return the last telling up to a moment, where it is not too old."""
        at_s = at.timestamp()
        place = bisect_right(self.times_s, at_s) - 1
        if place < 0 or at_s - self.times_s[place] > within.total_seconds():
            return None
        return self.one(place)

    def thinned(self, until: datetime) -> Iterator[Telling]:
        """Give a telling every five minutes, up to a moment."""
        end_s, due_s = until.timestamp(), float("-inf")
        for place, at_s in enumerate(self.times_s):
            if at_s >= end_s:
                return
            if at_s >= due_s:
                due_s = at_s + EVERY.total_seconds()
                yield self.one(place)


@dataclass(frozen=True, slots=True)
class Pair:
    """A telling and what was measured."""

    told: Telling
    measured: float

    @property
    def error(self) -> float:
        """How much too high it was told."""
        return self.told.value - self.measured

    @property
    def is_inside(self) -> bool | None:
        """Say whether the measurement lay within the band; None without a band."""
        if self.told.low is None or self.told.high is None:
            return None
        return self.told.low <= self.measured <= self.told.high


@dataclass(frozen=True, slots=True)
class Score:
    """How well one quantity was told."""

    quantity: str
    pairs: Sequence[Pair]
    before_end: Pair | None

    @property
    def bias(self) -> float:
        """The mean error."""
        return sum(one.error for one in self.pairs) / len(self.pairs)

    @property
    def mean_absolute_error(self) -> float:
        """The mean of the errors' sizes."""
        return sum(abs(one.error) for one in self.pairs) / len(self.pairs)

    @property
    def decimals(self) -> int:
        """How many its errors are worth: by the middle one of its bands, or by their own size."""
        halves = sorted(one.told.half_band for one in self.pairs if one.told.half_band > 0.0)
        worth = halves[len(halves) // 2] if halves else self.mean_absolute_error
        return min(max(digits(worth), 0), MOST_DECIMALS) if worth > 0.0 else 0

    @property
    def inside(self) -> tuple[int, int]:
        """How many measurements lay within their band, of those that had one."""
        banded = [one.is_inside for one in self.pairs if one.is_inside is not None]
        return sum(banded), len(banded)


Tellings = Mapping[str, Told]  # by quantity


def digits(uncertainty: float) -> int:
    """Return the decimals that leave two significant digits of an uncertainty (GUM 7.2.6)."""
    return 1 - floor(log10(uncertainty))


def scores(run: Figures, told: Tellings) -> list[Score]:
    """Score every quantity that was told and measured."""
    found = []
    for quantity, measured in _of_moments(run).items():
        if quantity in told:
            pairs = list(_held(told[quantity], measured))
            found.append(Score(quantity, pairs, None))
    for quantity, until, truth in _of_future(run):
        if quantity in told:
            tellings = told[quantity].thinned(until)
            pairs = [Pair(one, _at(truth, one, until)) for one in tellings]
            found.append(Score(quantity, pairs, _before_end(told[quantity], truth, until)))
    return [one for one in found if one.pairs]


Points = Sequence[tuple[datetime, float]]


def _of_moments(run: Figures) -> dict[str, Points]:
    """Give what was measured, by the quantity that tells it."""
    if not run.shows_strength:
        return {}
    sums = [
        (one.at, one.volume_l, one.pure_alcohol_l)
        for one in run.running[1:]
        if one.volume_l and one.pure_alcohol_l is not None and not one.is_expected
    ]
    base_l = run.share_base_l
    return {
        "spout_abv": [(one.at, one.abv) for one in run.strengths],
        "rate_ml_min": [
            (one.from_at + (one.to_at - one.from_at) / 2, one.ml_min) for one in run.rates
        ],
        "collected_l": [(at, volume_l) for at, volume_l, _ in sums],
        "collected_abv": [(at, 100.0 * pure / volume) for at, volume, pure in sums],
        "alcohol_recovered_l": [(at, pure) for at, _, pure in sums],
        "recovered_percent": [(at, 100.0 * pure / base_l) for at, _, pure in sums if base_l],
        "alcohol_left_l": [(at, base_l - pure) for at, _, pure in sums if base_l],
    }


def _of_future(run: Figures) -> Iterator[tuple[str, datetime, float | None]]:
    """Give what came to be, and until when it was still to come; None is the time itself."""
    for quantity, key in EVENTS:
        at = run.at.get(key)
        if at is not None and at.basis in {"marked", "jars"}:
            yield quantity, at.at, None
    end, came = run.when("end"), run.totals
    if end is not None and run.came_l > 0.0 and came.jars_without_volume == 0:
        yield "end_collected_l", end, run.came_l
        if run.has_alcohol and not came.is_expected:
            yield "end_collected_abv", end, 100.0 * run.pure_alcohol_l / run.came_l
    hearts, tails = run.cut("hearts"), run.when("tails")
    if hearts is not None and tails is not None:
        yield "hearts_l", tails, hearts.volume_l


def _held(told: Told, measured: Points) -> Iterator[Pair]:
    for at, value in measured:
        telling = told.last_at(at, STALE)
        if telling is not None:
            yield Pair(telling, value)


def _at(truth: float | None, told: Telling, until: datetime) -> float:
    return (until.timestamp() - told.at_s) / 60.0 if truth is None else truth


def _before_end(told: Told, truth: float | None, until: datetime) -> Pair | None:
    """Choose what was told twenty minutes before."""
    telling = told.last_at(until - BEFORE_END, STALE)
    return None if telling is None else Pair(telling, _at(truth, telling, until))
