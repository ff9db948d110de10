"""What is told of a ferment at one moment, as arrays over the members."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import default_rng

from api.estimates.ferment.course import Course
from api.estimates.ferment.foresight import (
    end_h,
    falls_in_a_day,
    hidden,
    highest_so_far,
    looking_ahead,
    peak_h,
    stopped_short,
)
from api.estimates.ferment.members import (
    Members,
    Row,
    capacity_kj_k,
    done,
    full_abv,
    gravity,
    heat_w,
)
from api.estimates.parts import Parts
from calc.arrays import median
from calc.quantities import FloatArray

PASSED_H: Final = 1.0
PASSED_SHARE: Final = 0.9
PEAK_ERROR_H: Final = 0.3  # of a smoothed curve's highest point
STOPPED_SHARE: Final = 0.5
# What no reading could tell apart, one standard error: of a hydrometer's mark, in share and
# gravity, and a heat that moves the wash by some thousandths of a kelvin in an hour.
PERCENT_ERROR, SG_ERROR, HEAT_K_H = 0.6, 0.0004, 0.005


@dataclass(frozen=True, slots=True)
class State:
    """Every quantity, a number a member; hours count from now."""

    heat_w: FloatArray
    loss_w_per_k: FloatArray
    percent: FloatArray
    sg: FloatArray
    abv: FloatArray
    peak_h: FloatArray  # past: negative
    peak_hidden: bool
    end_h: FloatArray
    stopped: FloatArray
    fall_in_a_day: float
    final_sg: float
    farthest_h: float

    @property
    def peak_passed(self) -> bool:
        """Tell whether nearly every member has its peak behind it."""
        return bool((self.peak_h < -PASSED_H).mean() >= PASSED_SHARE)

    @property
    def stopped_share(self) -> float:
        """Give the share of members that have stopped short."""
        return float(self.stopped.mean())


def working_out(course: Course, edge: Members, edge_index: int) -> Parts[State]:
    """Work out what the members say now."""
    ahead = yield from looking_ahead(edge, room_known=course.room_known)
    yield
    so_far = highest_so_far(edge, course.history, edge_index)
    yield
    blur = _blur(edge.shape[1])
    heat = heat_w(edge) + HEAT_K_H * capacity_kj_k(edge) / 3.6 * blur
    return State(
        heat_w=np.maximum(heat, 0.0),
        loss_w_per_k=np.exp(edge[Row.LOSS]),
        percent=np.clip(100.0 * done(edge) + PERCENT_ERROR * blur, 0.0, 100.0),
        sg=gravity(edge) + SG_ERROR * blur,
        abv=full_abv(edge) * done(edge),
        peak_h=peak_h(so_far, ahead) + PEAK_ERROR_H * blur,
        peak_hidden=hidden(so_far, course.history, edge_index),
        end_h=end_h(ahead),
        stopped=stopped_short(edge, ahead).astype(float),
        fall_in_a_day=float(median(falls_in_a_day(ahead))),
        final_sg=float((edge[Row.ORIGINAL] - edge[Row.FALL]).mean()),
        farthest_h=float(ahead.time_h[-1]),
    )


def _blur(count: int) -> FloatArray:
    """Give a standard normal sample, the same each time and unrelated to the members' order."""
    return default_rng(count).standard_normal(count)
