"""Smooth curves through knots, and noise that is the same each time it is asked for."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import blake2b
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve through knots (time, value) that never overshoots one.

    Monotone cubic interpolation, F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5
    (1984) 300. Level before the first knot and after the last.
    """

    times: tuple[float, ...]
    values: tuple[float, ...]
    slopes: tuple[float, ...]

    @classmethod
    def through(cls, *knots: tuple[float, float]) -> "Curve":
        """Lay a curve through knots in order of time."""
        times, values = zip(*knots, strict=True)
        return cls(times, values, _slopes(times, values))

    def at(self, time: float) -> float:
        """Read the curve."""
        right = bisect_right(self.times, time)
        if right == 0:
            return self.values[0]
        if right == len(self.times):
            return self.values[-1]
        return self._between(right - 1, right, time)

    def _between(self, left: int, right: int, time: float) -> float:
        width = self.times[right] - self.times[left]
        x = (time - self.times[left]) / width
        rise = self.values[right] - self.values[left]
        bend = x * (1 - x) * width
        pull = self.slopes[left] * (1 - x) - self.slopes[right] * x
        return self.values[left] + rise * x * x * (3 - 2 * x) + bend * pull


def _slopes(times: Sequence[float], values: Sequence[float]) -> tuple[float, ...]:
    widths = [b - a for a, b in pairwise(times)]
    chords = [(b - a) / w for (a, b), w in zip(pairwise(values), widths, strict=True)]
    sides = zip(pairwise(chords), pairwise(widths), strict=True)
    inner = [_harmonic(*chords_, *widths_) for chords_, widths_ in sides]
    return (chords[0], *inner, chords[-1])


def _harmonic(left: float, right: float, left_width: float, right_width: float) -> float:
    """Weigh two neighbouring chords; level at a crest or a trough."""
    if left * right <= 0:
        return 0.0
    weight = (left_width + 2 * right_width) / (3 * (left_width + right_width))
    return left * right / (weight * right + (1 - weight) * left)


def noise(seed: int, name: str, tick: int) -> float:
    """Draw a number of mean 0 and standard deviation 1, the same for the same arguments.

    The sum of four even draws: bell-shaped, and never beyond 3.5 deviations.
    """
    digest = blake2b(f"{seed}/{name}/{tick}".encode(), digest_size=8).digest()
    draws = (int.from_bytes(digest[i : i + 2], "little") for i in range(0, 8, 2))
    return (sum(draws) / 65536 - 2) * 3**0.5
