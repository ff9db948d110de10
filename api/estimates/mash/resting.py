"""How long a mash has been in its rest's range, and when it leaves it."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from api.estimates.estimate import Estimate
from api.estimates.ground import RestGround
from api.estimates.mash import words
from api.estimates.mash.going import RATE_AT_LEAST_MIN, Going
from api.estimates.mash.readings import BRIDGED_S, Stretch
from api.estimates.mash.sample import Sample, band, cannot
from calc.arrays import median
from calc.mash_keeping import minutes_to
from calc.quantities import FloatArray

LATE_MIN: Final = 0.12
FARTHEST_MIN: Final = 360.0
ROOM_C, ROOM_ERROR_K = 20.0, 4.0
TELLS: Final = 0.5  # of the members


def rest_minutes(stretch: Stretch, rest: RestGround, sample: Sample, newest_slot: int) -> Estimate:
    """Count the minutes in the range, for each error the probe may have."""
    if stretch.slots.size:
        minutes = _counted(stretch, rest, sample, newest_slot)
    else:
        minutes = np.full(sample.gap.size, (newest_slot - rest.from_slot) / 60.0) * sample.gap
    # Nobody could say to the minute: the probe follows late, and by steps.
    minutes = np.maximum(minutes + LATE_MIN * sample.rate, 0.0)
    return band("rest_minutes", minutes, tuple(_rests_on(stretch)), (words.CALIBRATE, words.STIR))


def _counted(stretch: Stretch, rest: RestGround, sample: Sample, newest_slot: int) -> FloatArray:
    """Count; of a gap, what may have been in range by the readings at its two ends."""
    minutes = _minutes_between(stretch, rest, sample)
    for gap in np.flatnonzero(stretch.missing_min).tolist():
        ends = float(stretch.mash_c[max(gap - 1, 0)]), float(stretch.mash_c[gap])
        both = sum(_inside(one, rest, sample) for one in ends) / 2.0
        # Both ends in range: most of it was; one end: any part; none: most likely not.
        share = np.where(both > 0.75, 1.0 - 0.3 * sample.gap, both * 2.0 * sample.gap)
        minutes = minutes + stretch.missing_min[gap] * share
    silent_min = (newest_slot - stretch.slots[-1]) / 60.0
    if was_unread(silent_min):
        last = _inside(float(stretch.mash_c[-1]), rest, sample)
        minutes = minutes + silent_min * sample.gap * last
    return np.asarray(minutes)


def _minutes_between(stretch: Stretch, rest: RestGround, sample: Sample) -> FloatArray:
    """Add up the minutes of readings between the range's ends, each member's moved by its error."""
    order = np.argsort(stretch.mash_c)
    shown_c = stretch.mash_c[order]
    below = np.concatenate(([0.0], np.cumsum(stretch.minutes[order])))
    at_low = np.searchsorted(shown_c, rest.low_c + sample.offset_c, side="left")
    at_high = np.searchsorted(shown_c, rest.high_c + sample.offset_c, side="right")
    return np.asarray(below[at_high] - below[at_low])


def _inside(shown_c: float, rest: RestGround, sample: Sample) -> FloatArray:
    true_c = shown_c - sample.offset_c
    return np.asarray(((true_c >= rest.low_c) & (true_c <= rest.high_c)).astype(float))


def _rests_on(stretch: Stretch) -> Iterator[str]:
    yield words.FROM_PROBE
    missing = float(stretch.missing_min.sum())
    if missing > 0.0:
        yield words.GAPS.format(minutes=missing)
    if stretch.jumped:
        yield words.JUMPED


def fall_out(
    way: Going | None, rest: RestGround, sample: Sample, room_c: float | None, silent_min: float
) -> Estimate:
    """Tell when it leaves the range if it goes on as in the last minutes."""
    name, narrows = "minutes_to_fall_out", (words.CALIBRATE, words.STIR)
    if way is None:
        return cannot(name, words.SHORT.format(minutes=RATE_AT_LEAST_MIN), (), narrows)
    true_c = way.shown_c - sample.offset_c + way.gone_k(sample, silent_min)
    rests_on = [words.RATE.format(minutes=way.over_min), *unread(silent_min)]
    if room_c is None:
        rests_on.append(words.NO_ROOM)
    if outside := _outside(true_c, rest):
        why = words.LEFT if was_unread(silent_min) else outside
        return cannot(name, why, rests_on, narrows)
    rates = way.rates(sample)
    room = np.full(rates.size, ROOM_C if room_c is None else room_c)
    down = minutes_to(true_c, rates, room, np.full(rates.size, rest.low_c))
    up = minutes_to(true_c, rates, room, np.full(rates.size, rest.high_c))
    minutes = np.minimum(np.minimum(down, up), FARTHEST_MIN)
    within = (true_c >= rest.low_c) & (true_c <= rest.high_c)
    minutes = np.where(within, minutes, 0.0)
    if float(median(minutes)) >= FARTHEST_MIN:
        holds = words.HOLDS.format(hours=FARTHEST_MIN / 60.0)
        return cannot(name, holds, rests_on, narrows)
    return band(name, minutes, rests_on, narrows)


def was_unread(silent_min: float) -> bool:
    """Tell whether it was silent for longer than is read across."""
    return silent_min * 60.0 > BRIDGED_S


def unread(silent_min: float) -> tuple[str, ...]:
    """Say since when nothing was read, where that is worth saying."""
    return (words.UNREAD.format(minutes=silent_min),) if was_unread(silent_min) else ()


def _outside(true_c: FloatArray, rest: RestGround) -> str | None:
    """Say on which side of the range it is, where most members are outside it."""
    below, above = float((true_c < rest.low_c).mean()), float((true_c > rest.high_c).mean())
    if below + above <= TELLS:
        return None
    if below > 1.0 - TELLS:
        return words.BELOW
    return words.ABOVE if above > 1.0 - TELLS else words.EDGE
