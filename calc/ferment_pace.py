"""The pace of a ferment, as a family of courses wide enough for any yeast: for estimates.

`calc.ferment_heat` has one course, for planning. A ferment that is watched follows a course of its
own, so here each of its constants is free: how ready the yeast is, how fast it grows, how much
sugar it wants, how alcohol slows it, what warmth does, and what comes late because enzymes are
still at work in a grain wash.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from calc.quantities import FloatArray

MIDDLE_C: Final = 28.0
TOO_HOT_C: Final = 38.0
DEADLY_K: Final = 2.0


@dataclass(frozen=True, slots=True)
class Pace:
    """The constants of a course; arrays of one length hold one course each."""

    fastest_per_h: FloatArray  # share of the sugar, all yeast ready, none of it gone, at 28 C
    wants: FloatArray  # the share of the sugar left at which its want halves the rate
    slowed: FloatArray  # by the alcohol of a whole ferment, 0 to 1
    per_kelvin: FloatArray  # exponent with temperature
    late_share: FloatArray  # of all that ferments, what enzymes must set free first
    late_per_h: FloatArray
    too_hot_c: FloatArray | float = TOO_HOT_C  # at which half of the pace is gone


def readiness(logit: FloatArray) -> FloatArray:
    """Return the share of the yeast's final strength that is there, by its logit.

    Parameters
    ----------
    logit : numpy array of float
        Grows by the growth rate in each hour: logistic growth.

    Returns
    -------
    numpy array of float
        0 to 1.

    References
    ----------
    Verhulst, P.-F. (1838), logistic growth.

    Examples
    --------
    >>> float(readiness(np.float64(0.0)))
    0.5
    """
    return np.asarray(0.5 + 0.5 * np.tanh(0.5 * logit))


def warmth(
    per_kelvin: FloatArray, temperature_c: FloatArray, too_hot_c: FloatArray | float = TOO_HOT_C
) -> FloatArray:
    """Return what temperature makes of yeast's pace, against that at 28 C.

    Parameters
    ----------
    per_kelvin : numpy array of float
        Exponent for a kelvin; 0.07 doubles the pace in ten.
    temperature_c : numpy array of float
        Of the wash.
    too_hot_c : float or numpy array of float, optional
        At which half of the yeast's pace is gone.

    Returns
    -------
    numpy array of float
        0 or more; falls away within a few kelvin of where it is too hot.

    References
    ----------
    van 't Hoff's rule; the limit: common practice, no source.

    Examples
    --------
    >>> float(warmth(np.float64(0.0), np.float64(28.0)).round(2))
    0.99
    """
    hot = readiness((too_hot_c - temperature_c) / DEADLY_K)
    return np.asarray(np.exp(per_kelvin * (temperature_c - MIDDLE_C)) * hot)


def rates(
    pace: Pace, ready: FloatArray, main_done: FloatArray, late_done: FloatArray, warm: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return how fast a ferment's two parts go: the sugar that is there, and what comes late.

    Parameters
    ----------
    pace : Pace
        Its constants.
    ready : numpy array of float
        See `readiness`.
    main_done, late_done : numpy array of float
        Shares of each part that have gone, 0 to 1.
    warm : numpy array of float
        See `warmth`.

    Returns
    -------
    tuple of numpy array of float
        Share of each part in an hour.

    Notes
    -----
    Main: k x (1 + w) u / (w + u) (1 - a (1 - u)), u what is left of it. Late: first order, as
    enzymes set it free, where there is yeast to take it.

    References
    ----------
    Monod, J. (1949), Annu. Rev. Microbiol. 3, 371 (the want of sugar); the linear slowing by
    alcohol: common practice, no source.

    Examples
    --------
    >>> one = Pace(*(np.array([v]) for v in (0.05, 0.1, 0.0, 0.0, 0.0, 0.02)))
    >>> main, late = rates(one, *(np.array([v]) for v in (1.0, 0.0, 0.0, 1.0)))
    >>> round(float(main[0]), 3), round(float(late[0]), 3)
    (0.05, 0.02)
    """
    left = np.maximum(1.0 - main_done, 0.0)
    fed = (1.0 + pace.wants) * left / (pace.wants + left)
    sober = 1.0 - pace.slowed * (1.0 - left)
    main = pace.fastest_per_h * ready * fed * sober * warm
    late = pace.late_per_h * ready * np.maximum(1.0 - late_done, 0.0) * warm
    return np.asarray(main), np.asarray(late)
