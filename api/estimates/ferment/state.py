"""What is told of a ferment at one moment, as arrays over the members."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import default_rng

from api.estimates.ferment.beginning import overdue, waited_h
from api.estimates.ferment.course import Course
from api.estimates.ferment.foresight import (
    CREEPS_SG,
    end_h,
    falls_in_a_day,
    hidden,
    highest_so_far,
    looking_ahead,
    peak_h,
    standing_short,
    stopped_short,
)
from api.estimates.ferment.members import (
    LEAST_DONE,
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
LEAST_SURE: Final = 0.025  # of the members: the lower end of a 95 % band
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
    standing: FloatArray  # still, short of its end, whether its yeast had woken or not
    creeping: FloatArray  # the same, or too slow to be a ferment
    waited_h: float | None  # for its beginning; None where that may have gone unread
    fall_in_a_day: float
    final_sg: float
    farthest_h: float

    @property
    def peak_passed(self) -> bool:
        """Tell whether nearly every member has its peak behind it."""
        return bool((self.peak_h < -PASSED_H).mean() >= PASSED_SHARE)

    @property
    def surely_began(self) -> bool:
        """Tell whether more has fermented than a heat that nobody is sure of."""
        return float(np.quantile(self.percent, LEAST_SURE)) > 100.0 * LEAST_DONE

    @property
    def stopped_share(self) -> float:
        """Give the share of members that have stopped short."""
        return float(self.stopped.mean())

    @property
    def stands_short(self) -> bool:
        """Tell whether most members stand still well short of their end."""
        return float(self.standing.mean()) > STOPPED_SHARE

    @property
    def unbegun(self) -> bool:
        """Tell whether it stands still where it began, or a few per cent from there."""
        hardly = float(median(self.percent)) < 100.0 * LEAST_DONE
        return self.waited_h is not None and hardly and self.stands_short

    @property
    def stuck_share(self) -> float:
        """Give how likely it is that it will not go on.

        Of what may not have begun it is told by its wait; else by how it came to stand.
        """
        if self.surely_began or not self.stands_short or self.waited_h is None:
            return self.stopped_share
        return max(overdue(self.waited_h) * float(self.creeping.mean()), self.stopped_share)


def working_out(course: Course, edge: Members, edge_index: int) -> Parts[State]:
    """Work out what the members say now."""
    ahead = yield from looking_ahead(edge, room_known=course.room_known)
    yield
    so_far = highest_so_far(edge, course.history, edge_index)
    yield
    blur = _blur(edge.shape[1])
    standing = standing_short(edge, ahead)
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
        stopped=stopped_short(edge, standing).astype(float),
        standing=standing.astype(float),
        creeping=standing_short(edge, ahead, CREEPS_SG).astype(float),
        waited_h=waited_h(course),
        fall_in_a_day=float(median(falls_in_a_day(ahead))),
        final_sg=float((edge[Row.ORIGINAL] - edge[Row.FALL]).mean()),
        farthest_h=float(ahead.time_h[-1]),
    )


def _blur(count: int) -> FloatArray:
    """Give a standard normal sample, the same each time and unrelated to the members' order."""
    return default_rng(count).standard_normal(count)
