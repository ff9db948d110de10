"""Where a ferment goes from here, member by member, and where its peak lay."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from api.estimates.ferment.course import History
from api.estimates.ferment.members import (
    Constants,
    Members,
    Row,
    gravity,
    heat_seen_w,
    heat_w,
    step,
)
from api.estimates.ferment.spells import SPELL_H
from api.estimates.parts import Parts
from calc.quantities import FloatArray

# Hours between looks: close at first, wide where nothing moves fast any more.
AHEAD_H: Final = np.concatenate(
    ((1.0, 2.0, 3.0, 4.0), np.arange(6.0, 25.0, 2.0), np.arange(28.0, 73.0, 4.0)[:-1],
     np.arange(72.0, 241.0, 12.0))
)  # fmt: skip
# A ferment is done when two gravities a day apart agree within so much.
AGREES_SG, AGREES_OVER_H = 0.001, 24.0
# Stopped short: so far above the expected end (common practice, no source).
SHORT_SG: Final = 0.006
STANDS_STILL_SG: Final = 0.0015  # fall over a day
CREEPS_SG: Final = 0.003  # the same, of what takes weeks
LOOKS_AT_ONCE: Final = 15
OFTEN: Final = 400  # spells, from which on every second one is enough to find a peak by
HIDDEN_SHARE: Final = 0.2
WINDOW: Final = 9  # spells on either side over which the curve is smoothed


@dataclass(frozen=True, slots=True)
class Ahead:
    """What each member comes to; the first look is now."""

    time_h: FloatArray
    sg: FloatArray  # looks by members
    heat_w: FloatArray


def looking_ahead(members: Members, *, room_known: bool) -> Parts[Ahead]:
    """Let every member go on by itself, with the room as it is."""
    going = members.copy()
    stays = Constants.of(going)
    begins, falls, late = going[Row.ORIGINAL], going[Row.FALL], stays.pace.late_share
    sg, heat, now_h = [gravity(going)], [], 0.0
    for number, at_h in enumerate(AHEAD_H, 1):
        longer_h = at_h - now_h  # far off nothing moves fast
        heat.append(
            step(
                going, longer_h,
                room_known=room_known, chance=None, longest_h=longer_h, constants=stays,
            )
        )  # fmt: skip
        now_h = at_h
        done = (1.0 - late) * going[Row.MAIN] + late * going[Row.LATE]
        sg.append(begins - falls * done)
        if number % LOOKS_AT_ONCE == 0:
            yield
    heat.append(heat_w(going))
    return Ahead(np.concatenate(([0.0], AHEAD_H)), np.array(sg), np.array(heat))


def falls_in_a_day(ahead: Ahead) -> FloatArray:
    """Give how far each member's gravity falls in the next day."""
    day = int(np.searchsorted(ahead.time_h, AGREES_OVER_H))
    return np.asarray(ahead.sg[0] - ahead.sg[day])


def standing_short(
    members: Members, ahead: Ahead, falls_sg: float = STANDS_STILL_SG
) -> NDArray[np.bool_]:
    """Tell, member by member, whether it stands still well above where it should end."""
    short = ahead.sg[0] - (members[Row.ORIGINAL] - members[Row.FALL]) > SHORT_SG
    return np.asarray(short & (falls_in_a_day(ahead) < falls_sg))


def stopped_short(members: Members, standing: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Tell which of those that stand still have stopped: their yeast had woken."""
    return np.asarray(standing & (members[Row.READY] > 0.0))


def end_h(ahead: Ahead) -> FloatArray:
    """Give when each member's gravity stops falling by what two readings would show."""
    below, part_of = _a_day_on(ahead.time_h)
    later = ahead.sg[below] * (1.0 - part_of) + ahead.sg[below + 1] * part_of
    over = ahead.sg - later < AGREES_SG
    # It ends where it is over for good: after the last look at which it was not.
    going = ~over
    last = going.shape[0] - 1 - np.argmax(going[::-1], axis=0)
    ends = np.minimum(last + 1, going.shape[0] - 1)
    columns = np.arange(ends.size)
    falls = ahead.sg - later
    before, after = falls[last, columns], falls[ends, columns]
    part = np.clip((before - AGREES_SG) / np.maximum(before - after, 1e-9), 0.0, 1.0)
    times = ahead.time_h[last] + part * (ahead.time_h[ends] - ahead.time_h[last])
    return np.asarray(np.where(going.any(axis=0), times, 0.0))


def _a_day_on(time_h: FloatArray) -> tuple[NDArray[np.int64], FloatArray]:
    """Give the look before each a day later, and the part of the way to the next; ends stay."""
    at = np.minimum(time_h + AGREES_OVER_H, time_h[-1])
    below = np.minimum(np.searchsorted(time_h, at, side="right") - 1, time_h.size - 2)
    part = (at - time_h[below]) / (time_h[below + 1] - time_h[below])
    return below, part[:, None]


@dataclass(frozen=True, slots=True)
class Highest:
    """Each member's highest heat so far, and when that was."""

    heat_w: FloatArray
    time_h: FloatArray  # from now: negative


def highest_so_far(members: Members, history: History, edge_index: int) -> Highest | None:
    """Find each member's highest heat so far; None where too little lies behind it."""
    if len(history.index) < 2 * WINDOW + 1:
        return None
    every = 1 + len(history.index) // OFTEN
    past = _past_heat(members, history, every)
    past_h = (np.asarray(history.index[::every]) - edge_index) * SPELL_H
    highest = np.argmax(past, axis=0)
    return Highest(past[highest, np.arange(past.shape[1])], past_h[highest])


def hidden(so_far: Highest | None, history: History, edge_index: int) -> bool:
    """Tell whether many members had their highest heat while something held or moved the wash."""
    if so_far is None:
        return False
    at = edge_index + np.rint(so_far.time_h / SPELL_H)
    which = np.minimum(np.searchsorted(history.index, at), len(history.index) - 1)
    return bool((~np.asarray(history.free)[which]).mean() > HIDDEN_SHARE)


def peak_h(so_far: Highest | None, ahead: Ahead) -> FloatArray:
    """Give when each member's heat is at its highest, in hours from now; past: negative."""
    top = np.argmax(ahead.heat_w, axis=0)
    if so_far is None:
        return np.asarray(ahead.time_h[top])
    ahead_is_higher = ahead.heat_w[top, np.arange(top.size)] > so_far.heat_w
    return np.asarray(np.where(ahead_is_higher, ahead.time_h[top], so_far.time_h))


def _past_heat(members: Members, history: History, every: int) -> FloatArray:
    """Give each member's heat at each spell: from the smoothed curve where nothing hides it."""
    heat = np.array(history.heat_w[::every])
    slope, above, whole = _smoothed(history)
    seen = heat_seen_w(members, slope[::every, None], above[::every, None])
    heat = np.where(whole[::every, None], seen, heat)
    # Nothing lies before the first to smooth with, and yeast must grow.
    heat[: -(-WINDOW // every)] = -np.inf
    return heat


def _smoothed(history: History) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Fit straight lines over three hours about each spell; and where all of them was free."""
    usable = np.asarray(history.free) & ~np.isnan(history.wash_c) & ~np.isnan(history.room_c)
    steady = np.concatenate(([True], np.diff(history.index) == 1))
    wash = np.nan_to_num(np.asarray(history.wash_c))
    above = wash - np.nan_to_num(np.asarray(history.room_c))
    span = np.arange(-WINDOW, WINDOW + 1)
    weights = span / float(span @ span) / SPELL_H
    slope = np.convolve(wash, weights[::-1], mode="same")
    ones = np.ones(span.size) / span.size
    mean_above = np.convolve(above, ones, mode="same")
    whole = np.convolve((usable & steady).astype(float), ones, mode="same") > 1.0 - 1e-9
    return slope, mean_above, whole
