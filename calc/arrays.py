"""Two things numpy does too, without the masked arrays its own would load.

`numpy.unique` and `numpy.median` import `numpy.ma` at their first use, to ask whether they were
given a masked array. Nothing here is one, and on a small machine it is 1.5 MB kept for good.
"""

from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calc.quantities import FloatArray

Scalar = TypeVar("Scalar", bound=np.generic)


def distinct(values: NDArray[Scalar]) -> NDArray[Scalar]:
    """Return each value once, rising.

    Examples
    --------
    >>> distinct(np.array([3, 1, 3, 2, 1])).tolist()
    [1, 2, 3]
    """
    rising = np.sort(values, axis=None)
    first: NDArray[Scalar] = rising[np.append(True, rising[1:] != rising[:-1])[: rising.size]]
    return first


def median(values: ArrayLike, axis: int | None = None) -> FloatArray:
    """Return the middle value or the mean of the middle two; NaN where one is NaN.

    Examples
    --------
    >>> float(median([4.0, 1.0, 3.0, 2.0]))
    2.5
    """
    rising = np.sort(np.asarray(values, dtype=float), axis=axis)  # NaN goes last
    along = -1 if axis is None else axis
    size = rising.shape[along]
    low, high = rising.take((size - 1) // 2, along), rising.take(size // 2, along)
    return np.where(np.isnan(rising.take(-1, along)), np.nan, (low + high) / 2)
