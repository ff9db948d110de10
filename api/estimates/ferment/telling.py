"""From the members to estimates: value, bands, and the sentences that go with them."""

from dataclasses import dataclass, replace
from math import inf
from typing import Final

import numpy as np

from api.estimates.estimate import Estimate
from api.estimates.ferment import words
from api.estimates.ferment.beginning import LONGEST_LAG_H, NEVER
from api.estimates.ferment.state import STOPPED_SHARE, State
from api.estimates.ferment.widths import WIDTHS
from api.estimates.widening import AS_THEY_LIE, widened
from calc.arrays import median
from calc.quantities import FloatArray

QUANTITIES: Final = (
    "heat_rate_w", "loss_w_per_k", "fermented_percent", "gravity_sg", "abv",
    "hours_to_peak", "hours_since_peak", "hours_to_end", "stuck_percent",
)  # fmt: skip


PEAK_WIDE_H: Final = 2.0  # of the 68 % band: an hour on either side
PRIOR_TIMES: Final = 3.0  # by which it may be off how often ferments stop short


@dataclass(frozen=True, slots=True)
class Footing:
    """What estimates rest on, what contradicts and what would narrow them, and what is wanting."""

    rests_on: tuple[str, ...]
    narrows: tuple[str, ...]
    contradictions: tuple[str, ...]
    no_volume: bool
    no_gravity: bool
    is_read: bool  # whether a gravity was read since pitching


def cannot(why: str, footing: Footing | None = None) -> tuple[Estimate, ...]:
    """Say of everything why it cannot be told."""
    return tuple(_why(name, why, footing) for name in QUANTITIES)


def told(state: State, footing: Footing) -> tuple[Estimate, ...]:
    """Put everything into words."""
    no_volume = words.NO_VOLUME if footing.no_volume else None
    no_gravity = words.NO_GRAVITY if footing.no_gravity else None
    return (
        _unless(no_volume, "heat_rate_w", state.heat_w, state, footing),
        _unless(no_volume, "loss_w_per_k", state.loss_w_per_k, state, footing),
        _band("fermented_percent", state.percent, state, footing),
        _unless(no_gravity, "gravity_sg", state.sg, state, footing),
        _unless(no_gravity, "abv", state.abv, state, footing),
        *_peak(state, footing),
        _end(state, footing),
        _stuck(state, footing),
    )


def _unless(
    why: str | None, name: str, values: FloatArray, state: State, footing: Footing
) -> Estimate:
    if why is not None:
        return _why(name, why, footing)
    return _band(name, values, state, footing)


def _peak(state: State, footing: Footing) -> tuple[Estimate, Estimate]:
    if state.unbegun:
        why = _unbegun(state)
        return _why("hours_to_peak", why, footing), _why("hours_since_peak", why, footing)
    if state.peak_passed and not state.surely_began:
        why = words.PEAK_UNSURE
        return _why("hours_to_peak", why, footing), _why("hours_since_peak", why, footing)
    if state.peak_passed:
        since = _band("hours_since_peak", -state.peak_h, state, footing)
        return _passed(since, footing, is_hidden=state.peak_hidden)
    return (
        _band("hours_to_peak", np.clip(state.peak_h, 0.0, None), state, footing),
        _why("hours_since_peak", words.PEAK_AHEAD, footing),
    )


def _passed(since: Estimate, footing: Footing, *, is_hidden: bool) -> tuple[Estimate, Estimate]:
    """Tell when it passed: of one that was hidden, no single hour where the band is wide."""
    value, low, high = (one or 0.0 for one in (since.value, since.low, since.high))
    why = words.PEAK_PASSED.format(hours=value)
    if is_hidden and (since.high_68 or 0.0) - (since.low_68 or 0.0) > PEAK_WIDE_H:
        why = words.PEAK_BETWEEN.format(low=low, high=high)
        since = replace(since, value=None, why=why)
    return _why("hours_to_peak", why, footing), since


def _unbegun(state: State) -> str:
    is_late = (state.waited_h or 0.0) > LONGEST_LAG_H
    return words.NOT_BEGUN if is_late else words.NOT_YET


def _end(state: State, footing: Footing) -> Estimate:
    if state.unbegun:
        return _why("hours_to_end", _unbegun(state), footing)
    going = state.end_h[state.stopped < 0.5]
    if state.stopped_share > STOPPED_SHARE or not going.size:
        why = words.NO_GRAVITY if footing.no_gravity else words.STOPPED
        return _why("hours_to_end", why, footing)
    if state.stands_short:
        why = words.NO_GRAVITY if footing.no_gravity else words.STANDS_SHORT
        return _why("hours_to_end", why, footing)
    if float(median(going)) >= state.farthest_h - 25.0:
        return _why("hours_to_end", words.FAR_OFF, footing)
    return _band("hours_to_end", going, state, footing)


def _stuck(state: State, footing: Footing) -> Estimate:
    """Give how likely it is that it has stopped short; the band is that of what was assumed.

    Where no gravity was ever read nobody knows how much there was to ferment, and an end cannot be
    told from a standstill.
    """
    if footing.no_gravity:
        return _why("stuck_percent", words.NO_GRAVITY, footing)
    why = words.STANDS.format(
        fall=max(state.fall_in_a_day, 0.0), sg=float(median(state.sg)), final=state.final_sg
    )
    share = state.stuck_share
    seldom = words.BEGINS_SELDOM.format(washes=1.0 / NEVER)
    rarely = seldom if share > state.stopped_share else words.STOPS_RARELY
    low, low_68, high_68, high = (_at_odds(share, PRIOR_TIMES**z) for z in (-1.0, -0.5, 0.5, 1.0))
    return Estimate(
        "stuck_percent", 100.0 * share, low, high, why, low_68, high_68,
        (rarely, *footing.rests_on), footing.narrows, footing.contradictions,
    )  # fmt: skip


def _at_odds(share: float, times: float) -> float:
    """Give a share in per cent, had it been so many times as likely beforehand."""
    return 100.0 * share * times / (share * times + 1.0 - share)


def _band(name: str, values: FloatArray, state: State, footing: Footing) -> Estimate:
    anchor = "read" if footing.is_read else "unread"
    side = "falling" if state.peak_passed else "rising"
    most = 100.0 if name.endswith("_percent") else inf
    widths = WIDTHS.get((name, anchor, side), AS_THEY_LIE)
    low, low_68, middle, high_68, high = widened(values, widths, most=most)
    return Estimate(
        name, middle, low, high, None, low_68, high_68,
        footing.rests_on, footing.narrows, footing.contradictions,
    )  # fmt: skip


def _why(name: str, why: str, footing: Footing | None) -> Estimate:
    if footing is None:
        return Estimate(name, None, None, None, why)
    return Estimate(
        name, None, None, None, why, None, None,
        footing.rests_on, footing.narrows, footing.contradictions,
    )  # fmt: skip
