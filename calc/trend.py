"""How fast a reading changes: a slope over a window of time that single bad readings do not move.

Used by the live page and by alarms. Times count, not samples: a slow cadence, a gap or a reading
that came late does not change the answer.
"""

import numpy as np
from numpy.typing import ArrayLike

from calc.errors import OutOfRangeError
from calc.quantities import FloatArray

# Fewer good readings say nothing: the medians take two of them.
FEWEST_READINGS = 5
LEAST_FEWEST = 4  # two medians make a line
# Readings must span this share of the window, or the slope would stand for another time.
LEAST_SPAN = 0.5


def slope_per_minute(
    times_s: ArrayLike,
    values: ArrayLike,
    window_s: float,
    now_s: float | None = None,
    fewest: int = FEWEST_READINGS,
) -> float | None:
    """Return the slope of the readings of the last stretch of time, or None if it cannot tell.

    Parameters
    ----------
    times_s : array_like of float
        Seconds, rising.
    values : array_like of float
        One for each time, in any unit; NaN where a reading was refused.
    window_s : float
        How far back to look; longer than one cycle of whatever controls the heat.
    now_s : float, optional
        The end of the window; the last time unless given. Give it where readings may have
        stopped, so that an old trend is not taken for a live one.
    fewest : int
        Good readings needed, at least 4.

    Returns
    -------
    float or None
        Units a minute. None where the window holds too few good readings, or they span less
        than half of it.

    Raises
    ------
    OutOfRangeError
        If times and values differ in number, times do not rise, or the window or `fewest` is
        too small.

    Notes
    -----
    The median of each three neighbouring good readings, at the time of the middle one, then the
    least-squares line through them: slope = sum (t - mean t)(v - mean v) / sum (t - mean t)^2.
    A single bad reading shifts the answer by no more than its neighbours differ.

    References
    ----------
    Tukey, J. W. (1977), Exploratory Data Analysis (running medians of three); least squares:
    any text on statistics.

    Examples
    --------
    One unit every ten seconds, and one false 85 among them.

    >>> slope_per_minute([0, 10, 20, 30, 40, 50, 60], [20, 21, 22, 85, 24, 25, 26], 60.0)
    6.6
    """
    times, readings = np.asarray(times_s, dtype=float), np.asarray(values, dtype=float)
    _check(times, readings, window_s, fewest)
    if times.size == 0:
        return None
    end = times[-1] if now_s is None else now_s
    good = (times >= end - window_s) & (times <= end) & np.isfinite(readings)
    times, readings = times[good], readings[good]
    if times.size < fewest or times[-1] - times[0] < LEAST_SPAN * window_s:
        return None
    return _slope(times[1:-1], _medians_of_three(readings)) * 60.0


def _medians_of_three(readings: FloatArray) -> FloatArray:
    a, b, c = readings[:-2], readings[1:-1], readings[2:]
    return np.asarray(np.maximum(np.minimum(a, b), np.minimum(np.maximum(a, b), c)))


def _slope(times: FloatArray, values: FloatArray) -> float:
    off = times - times.mean()
    return float(off @ (values - values.mean())) / float(off @ off)


def _check(times: FloatArray, readings: FloatArray, window_s: float, fewest: int) -> None:
    if times.shape != readings.shape or times.ndim != 1:
        raise OutOfRangeError(
            f"A trend needs one reading for each time; there are {times.size} times and "
            f"{readings.size} readings.",
            quantity="values",
        )
    if not (np.diff(times) > 0).all() or not np.isfinite(times).all():
        raise OutOfRangeError(
            "The times of a trend (times_s) must rise from one to the next; sort them and leave "
            "out the doubles.",
            quantity="times_s",
        )
    if not window_s > 0 or not np.isfinite(window_s):
        raise OutOfRangeError(
            f"The window of a trend (window_s) is {window_s:g} s; it must be above 0 s.",
            quantity="window_s",
        )
    if fewest < LEAST_FEWEST:
        raise OutOfRangeError(
            f"A trend from {fewest} readings (fewest) says nothing; it needs {LEAST_FEWEST}.",
            quantity="fewest",
        )


def slopes_per_minute(
    times_s: ArrayLike, values: ArrayLike, window_s: float, fewest: int = FEWEST_READINGS
) -> FloatArray:
    """Return the slope of the last stretch of time at every reading, all at once.

    Parameters
    ----------
    times_s : array_like of float
        Seconds, rising.
    values : array_like of float
        One for each time, in any unit; none may be missing.
    window_s : float
        How far back to look from each reading.
    fewest : int
        Good readings needed, at least 4.

    Returns
    -------
    numpy array of float
        Units a minute, one for each time; NaN where the window holds too few readings, or they
        span less than half of it.

    Raises
    ------
    OutOfRangeError
        As for `slope_per_minute`.

    Notes
    -----
    At each reading the same as `slope_per_minute` of the readings up to it, from running sums.

    References
    ----------
    Tukey, J. W. (1977), Exploratory Data Analysis (running medians of three); least squares:
    any text on statistics.

    Examples
    --------
    >>> found = slopes_per_minute([0, 10, 20, 30, 40, 50], [20, 21, 22, 23, 24, 25], 50.0)
    >>> [round(float(one), 6) for one in found[-2:]]
    [6.0, 6.0]
    """
    times, readings = np.asarray(times_s, dtype=float), np.asarray(values, dtype=float)
    _check(times, readings, window_s, fewest)
    slopes = np.full(times.size, np.nan)
    if times.size < fewest:
        return slopes
    first = np.searchsorted(times, times - window_s)
    last = np.arange(times.size)
    told = (last - first + 1 >= fewest) & (times - times[first] >= LEAST_SPAN * window_s)
    middles, medians = times[1:-1] - times[0], _medians_of_three(readings) - readings[0]
    n = (last - first - 1)[told].astype(float)
    sums = [
        (summed[last[told] - 1] - summed[first[told]])
        for summed in map(_summed, (middles, medians, middles * middles, middles * medians))
    ]
    slopes[told] = (sums[3] - sums[0] * sums[1] / n) / (sums[2] - sums[0] * sums[0] / n) * 60.0
    return slopes


def _summed(values: FloatArray) -> FloatArray:
    return np.concatenate(([0.0], np.cumsum(values)))
