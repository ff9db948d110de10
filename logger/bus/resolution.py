"""How finely a master's probes convert: 12 bit where there is time for it, else 11."""

from collections import deque
from math import inf

FINE_BITS, COARSE_BITS = 12, 11
# A conversion's time in seconds by resolution: DS18B20 datasheet, rounded up as the kernel does.
CONVERSION_S = {9: 0.095, 10: 0.190, 11: 0.375, 12: 0.750}

_STRIKES = 3  # sweeps in a row that must be too slow: one may be a hung probe or a busy machine
_PATIENCE = 60  # sweeps in a row that must leave room before the finer one is tried again
_ROOM = 0.9  # of the time given


class ResolutionPolicy:
    """Chooses the resolution of one master from the time its sweeps take and are given."""

    def __init__(self, fixed_bits: int | None = None) -> None:
        self.bits = fixed_bits or FINE_BITS
        self.sweep_s = 0.0  # the last one measured
        self._fixed = fixed_bits is not None
        self._recent: deque[float] = deque(maxlen=_STRIKES)
        self._roomy = 0

    def note(self, sweep_s: float | None, given_s: float, *, conversions: int = 1) -> None:
        """Learn what a sweep took, None if its time ran out, and how many conversions in a row."""
        self._recent.append(inf if sweep_s is None else sweep_s)
        self.sweep_s = self.sweep_s if sweep_s is None else sweep_s
        if self._fixed:
            return
        if self.bits == FINE_BITS:
            self._coarsen(given_s)
        else:
            self._refine(given_s, conversions)

    def _coarsen(self, given_s: float) -> None:
        if len(self._recent) == _STRIKES and min(self._recent) > given_s:
            self._choose(COARSE_BITS)

    def _refine(self, given_s: float, conversions: int) -> None:
        longer_s = conversions * (CONVERSION_S[FINE_BITS] - CONVERSION_S[COARSE_BITS])
        fits = self._recent[-1] + longer_s <= _ROOM * given_s
        self._roomy = self._roomy + 1 if fits else 0
        if self._roomy >= _PATIENCE:
            self._choose(FINE_BITS)

    def _choose(self, bits: int) -> None:
        self.bits = bits
        self._recent.clear()
        self._roomy = 0
