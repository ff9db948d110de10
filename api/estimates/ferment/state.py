"""What is told of a ferment at one moment, as arrays over the members."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from api.estimates.ferment.course import Course
from api.estimates.ferment.foresight import (
    end_h,
    falls_in_a_day,
    look_ahead,
    peak_h,
    stopped_short,
)
from api.estimates.ferment.members import Members, Row, done, full_abv, gravity, heat_w
from calc.quantities import FloatArray

PASSED_H: Final = 1.0
PASSED_SHARE: Final = 0.9
PEAK_ERROR_H: Final = 0.4  # of a smoothed curve's highest point
STOPPED_SHARE: Final = 0.5


@dataclass(frozen=True, slots=True)
class State:
    """Every quantity, a number a member; hours count from now."""

    heat_w: FloatArray
    loss_w_per_k: FloatArray
    percent: FloatArray
    sg: FloatArray
    abv: FloatArray
    peak_h: FloatArray  # past: negative
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


def state_of(course: Course, edge: Members, edge_index: int) -> State:
    """Work out what the members say now."""
    ahead = look_ahead(edge, room_known=course.room_known)
    blur = np.linspace(-2.0, 2.0, edge.shape[1]) * PEAK_ERROR_H
    return State(
        heat_w=heat_w(edge),
        loss_w_per_k=np.exp(edge[Row.LOSS]),
        percent=100.0 * done(edge),
        sg=gravity(edge),
        abv=full_abv(edge) * done(edge),
        peak_h=peak_h(edge, course.history, edge_index, ahead) + blur,
        end_h=end_h(ahead),
        stopped=stopped_short(edge, ahead).astype(float),
        fall_in_a_day=float(np.median(falls_in_a_day(ahead))),
        final_sg=float((edge[Row.ORIGINAL] - edge[Row.FALL]).mean()),
        farthest_h=float(ahead.time_h[-1]),
    )
