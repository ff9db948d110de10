"""Signs read straight from the temperatures: heated, mixed, boiling as it should, head and pot."""

from collections import deque
from dataclasses import dataclass, field
from math import hypot
from typing import Final

from api.estimates.estimator import MEASURED_HPA, PressureBy
from api.estimates.ground import ProbeGround
from calc.pressure import ZERO_C, water_boiling_k
from calc.strength_table import azeotrope_k

BLOCK_S: Final = 30
_FALLS_K_S: Final = -0.15 / 60.0
_RISES_K_S: Final = 0.1 / 60.0
_FALLEN_K: Final = 1.5  # from the hottest of late, before the heat counts as off
_FALLEN_AS_MARKED_ON_K: Final = 3.0
_SINKS_K_S: Final = -0.03 / 60.0  # no pot that boils grows cooler, unless its pressure falls
_HEAD_FALLEN_K: Final = 2.0  # within six minutes
_STEP_K: Final = 1.0  # within two minutes, that only more reflux takes off a head
_STEP_BLOCKS: Final = 5
_BLOCKS: Final = 6  # in a row, before an oddity counts
BAD_S: Final = _BLOCKS * BLOCK_S
_OF_LATE: Final = 30  # blocks
SETTLES_S: Final = 240  # of a head that has just grown hot
_ARRIVES_K: Final = 2.5  # below the azeotrope, where vapour has surely not arrived
_FLAT_K_S: Final = 0.05 / 60.0
_K_HPA: Final = 0.03  # how boiling rises with pressure, about
_SLACK_K: Final = 1.5
_WARM_C: Final = 40.0
_NEAR_K: Final = 12.0  # a head this near to its pot is full of vapour


@dataclass(frozen=True, slots=True)
class Block:
    """Half a minute's means."""

    slot: int  # of its end
    pot_c: float | None
    head_c: float | None
    room_c: float | None
    hpa: float | None  # None: nobody has said even how high the still stands
    hpa_by: PressureBy = "barometer"
    hpa_error: float = MEASURED_HPA

    @property
    def told_error_hpa(self) -> float | None:
        """How far the pressure may be off; None where nobody told it."""
        return None if self.hpa is None else self.hpa_error


@dataclass(slots=True)
class Signs:
    """What the temperatures show by themselves."""

    probes: tuple[ProbeGround, ProbeGround]
    heating: bool = False
    heated_s: int = 0
    off_since: int | None = None  # where nobody marked it, but the pot has been falling since
    head_hot_since: int | None = None
    head_rate_k_s: float = 0.0
    pot_rate_k_s: float = 0.0  # from block to block
    _pots: deque[tuple[int, float]] = field(default_factory=lambda: deque(maxlen=_OF_LATE))
    _sinks_unmarked: bool = False  # heat is marked on, the pot has been seen to cool and still does
    _head: tuple[int, float] | None = None
    _head_before: deque[float] = field(default_factory=lambda: deque(maxlen=12))
    _counts: dict[str, int] = field(default_factory=dict)
    _standing: set[str] = field(default_factory=set)

    def see(self, block: Block, hpa: float, hpa_error: float, *, marked: bool | None) -> None:
        """Take a block; `marked` says whether somebody marked the heat as on or off."""
        self._heads(block, hpa - 2.0 * hpa_error)
        self._pot(block, marked=marked)
        self._odd(block, hpa, hpa_error)

    @property
    def swapped(self) -> bool:
        """Whether the head has been hotter than the pot for some minutes."""
        return "swapped" in self._standing

    @property
    def too_hot(self) -> bool:
        """Whether the pot has been hotter than boiling water for some minutes."""
        return "hot" in self._standing

    @property
    def too_cool(self) -> bool:
        """Whether it seems to boil below anything it can hold."""
        return "cool" in self._standing

    @property
    def steady(self) -> bool:
        """Whether the pot warms as fast as it did some minutes ago, within half."""
        if len(self._pots) < 13:
            return False
        (a, a_c), (b, b_c), (c, c_c) = self._pots[-13], self._pots[-7], self._pots[-1]
        before, after = (b_c - a_c) / max(b - a, 1), (c_c - b_c) / max(c - b, 1)
        return after > _RISES_K_S and 0.5 * after < before < 2.0 * after

    def _pot(self, block: Block, *, marked: bool | None) -> None:
        if block.pot_c is None:
            if marked is not None:
                self.heating = marked
            return
        before = self._pots[-1] if self._pots else None
        self._pots.append((block.slot, block.pot_c))
        rate = self.warming_k_s
        if before is not None:
            apart = max(block.slot - before[0], 1)
            self.pot_rate_k_s = (block.pot_c - before[1]) / apart
        if rate is not None and rate >= _SINKS_K_S:
            self._sinks_unmarked = False
        if marked is not None:
            self.heating = marked and not self._sinks_unmarked
        elif rate is not None and rate > _RISES_K_S:
            self.heating = True
        fallen = max(c for _, c in self._pots) - block.pot_c
        enough = _FALLEN_AS_MARKED_ON_K if marked else _FALLEN_K
        sinks = rate is not None and rate < _SINKS_K_S
        falls = rate is not None and rate < _FALLS_K_S
        if (falls and fallen > enough) or (sinks and self._head_fallen_k() > _HEAD_FALLEN_K):
            self._cools()
            self._sinks_unmarked = bool(marked)
        self.heated_s = self.heated_s + BLOCK_S if self.heating else 0

    def _cools(self) -> None:
        """Take the heat for off, whatever is marked, since the pot was hottest."""
        if self.heating:
            hottest = max(self._pots, key=lambda one: one[1])
            self.off_since = hottest[0]
        self.heating = False

    def _head_fallen_k(self) -> float:
        """Return how far the head has fallen within some minutes."""
        if len(self._head_before) < 2:
            return 0.0
        return max(self._head_before) - self._head_before[-1]

    @property
    def warming_k_s(self) -> float | None:
        """Return how fast the pot has warmed over some three minutes, K/s."""
        if len(self._pots) < 3:
            return None
        now, now_c = self._pots[-1]
        then, then_c = self._pots[-min(7, len(self._pots))]
        apart = now - then
        return (now_c - then_c) / apart if 0 < apart <= 400 else None

    def _heads(self, block: Block, least_hpa: float) -> None:
        if block.head_c is None:
            self._head = None
            self.head_hot_since = None
            return
        if self._head is not None:
            apart = max(block.slot - self._head[0], 1)
            self.head_rate_k_s = (block.head_c - self._head[1]) / apart
        self._head = (block.slot, block.head_c)
        self._head_before.append(block.head_c)
        if block.head_c > float(azeotrope_k(least_hpa)) - ZERO_C - _ARRIVES_K:
            self.head_hot_since = self.head_hot_since or block.slot
        else:
            self.head_hot_since = None

    @property
    def head_steps_down(self) -> bool:
        """Whether the head has just grown cooler by more than a still does of itself."""
        seen = list(self._head_before)[-_STEP_BLOCKS:]
        pot_k_s = self.warming_k_s
        even = pot_k_s is not None and pot_k_s >= _SINKS_K_S
        return even and len(seen) == _STEP_BLOCKS and max(seen) - seen[-1] > _STEP_K

    def head_settled(self, slot: int) -> bool:
        """Whether saturated vapour has filled the head for some minutes."""
        return self.head_hot_since is not None and slot - self.head_hot_since >= SETTLES_S

    def _odd(self, block: Block, hpa: float, hpa_error: float) -> None:
        pot = block.pot_c
        if pot is None:
            return
        head = -300.0 if block.head_c is None else block.head_c
        errors = hypot(self.probes[0].error_c, self.probes[1].error_c)
        water_c = float(water_boiling_k(hpa)) - ZERO_C
        coolest_c = float(azeotrope_k(hpa)) - ZERO_C
        slack_k = 3.0 * hypot(self.probes[0].error_c, _K_HPA * hpa_error) + _SLACK_K
        self._count("swapped", odd=head > max(pot + 3.0 * errors + _SLACK_K, _WARM_C))
        self._count("hot", odd=pot > water_c + slack_k)
        rate = self.warming_k_s
        flat = rate is not None and abs(rate) < _FLAT_K_S and self.heating
        cool = _WARM_C < pot < coolest_c - slack_k and head > pot - _NEAR_K
        self._count("cool", odd=flat and cool)

    def _count(self, name: str, *, odd: bool) -> None:
        """Let an oddity stand after some minutes, and go after as many."""
        count = self._counts.get(name, 0)
        self._counts[name] = count = min(count + 1, _BLOCKS) if odd else max(count - 1, 0)
        if count >= _BLOCKS:
            self._standing.add(name)
        elif count == 0:
            self._standing.discard(name)
