"""Where a function of one variable takes a value: bracketed, for one value or many at once."""

from collections.abc import Callable
from typing import Any

import numpy as np

from calc.quantities import FloatArray

ITERATIONS = 100


def root(function: Callable[[Any], Any], low: Any, high: Any, tolerance: float = 1e-14) -> Any:
    """Return where an increasing or decreasing function crosses zero between two bounds.

    Parameters
    ----------
    function : callable
        Takes and returns an array; must change sign between `low` and `high`, element by element.
    low, high : float or numpy array of float
        The bounds; a bound at which the function is zero is a root.
    tolerance : float
        Of the argument, relative to one or to its size, whichever is larger.

    Returns
    -------
    float or numpy array of float
        NaN where the function does not change sign: callers refuse that in words of their own.

    Notes
    -----
    Bisection with inverse quadratic interpolation where it is safe; it keeps its bracket.

    References
    ----------
    Chandrupatla, T. R. (1997), Advances in Engineering Software 28, 145-149,
    doi 10.1016/S0965-9978(96)00051-8.

    Examples
    --------
    >>> float(round(root(lambda x: x * x - 2.0, 0.0, 2.0), 12))
    1.414213562373
    """
    a, b = (np.array(v, dtype=float) for v in np.broadcast_arrays(low, high))
    shape = np.broadcast_shapes(a.shape, np.shape(function(a)))
    a, b = (np.broadcast_to(v, shape).copy() for v in (a, b))
    best = _search(function, a, b, tolerance)
    return best if shape else float(best)


def _search(
    function: Callable[[Any], Any], a: FloatArray, b: FloatArray, tolerance: float
) -> FloatArray:
    fa, fb = np.asarray(function(a), dtype=float), np.asarray(function(b), dtype=float)
    crosses = fa * fb <= 0
    c, fc, step = a, fa, np.full(a.shape, 0.5)
    for _ in range(ITERATIONS):
        x = a + step * (b - a)
        fx = np.asarray(function(x), dtype=float)
        same = np.sign(fx) == np.sign(fa)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, fx
        nearest = np.where(np.abs(fa) < np.abs(fb), a, b)
        margin = tolerance * np.maximum(np.abs(nearest), 1.0) / 2
        width = np.abs(b - a)
        if ((width <= 2 * margin) | (fa == 0) | (fb == 0) | ~crosses).all():
            break
        step = _step(a, b, c, fa, fb, fc)
        least = margin / np.where(width > 0, width, 1.0)
        step = np.clip(step, np.minimum(least, 0.5), np.maximum(1 - least, 0.5))
    return np.where(crosses, np.where(np.abs(fa) < np.abs(fb), a, b), np.nan)


def _step(
    a: FloatArray, b: FloatArray, c: FloatArray, fa: FloatArray, fb: FloatArray, fc: FloatArray
) -> FloatArray:
    """Return how far from a towards b to look next: interpolated where that is safe, else half."""
    with np.errstate(divide="ignore", invalid="ignore"):
        xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
        safe = (phi**2 < xi) & ((1 - phi) ** 2 < 1 - xi)
        step = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return np.where(safe & np.isfinite(step), step, 0.5)
