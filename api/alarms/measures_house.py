"""What is measured of the probes themselves and of the house."""

from collections.abc import Callable
from typing import Final

from api.alarms.sights import IDLE, Measure, SpotSight, SystemSight
from api.alarms.stages import Phase

FEWEST_BAD: Final = 3  # scans in a row, whatever the cadence
ALWAYS_MOVES: Final = frozenset({"pot", "mash", "ferment"})
MOVES_WHILE_BOILING: Final = frozenset({"head", "column", "coolant_out"})
MOVED_K: Final = 1.0


class Refused(Measure[SpotSight]):
    """Seconds since a probe that is there gave its last good reading."""

    __slots__ = ("_bad", "_good_slot")

    def __init__(self) -> None:
        self._bad = 0
        self._good_slot: int | None = None

    def see(self, sight: SpotSight) -> float | None:
        """Return it."""
        slot = sight.slot
        if not sight.present:
            return None
        if sight.value is not None:
            self._bad, self._good_slot = 0, slot
            return 0.0
        self._bad += 1
        if self._good_slot is None:
            self._good_slot = slot
        return float(slot - self._good_slot) if self._bad >= FEWEST_BAD else 0.0


class Stale(Measure[SpotSight]):
    """Seconds since a scan had a probe in it at all."""

    __slots__ = ("_missed", "_seen_slot")

    def __init__(self) -> None:
        self._missed = 0
        self._seen_slot: int | None = None

    def see(self, sight: SpotSight) -> float | None:
        """Return it."""
        slot = sight.slot
        if sight.present or self._seen_slot is None:
            self._missed, self._seen_slot = 0, slot
            return 0.0
        self._missed += 1
        return float(slot - self._seen_slot) if self._missed >= FEWEST_BAD else 0.0


class Frozen(Measure[SpotSight]):
    """Minutes a reading has not moved at all while another on the vessel moved by more than 1 K."""

    __slots__ = ("_others", "_since", "_value")

    def __init__(self) -> None:
        self._value: float | None = None
        self._since = 0
        self._others: dict[str, float | None] = {}

    def see(self, sight: SpotSight) -> float | None:
        """Return it."""
        if sight.value is None or sight.vessel is None or not self._may_judge(sight):
            return None if sight.value is None else IDLE
        slot = sight.vessel.slot
        if sight.value != self._value or not self._others:
            self._value, self._since = sight.value, slot
            self._others = dict(sight.vessel.values)
            return 0.0
        minutes = (slot - self._since) / 60.0
        return minutes if minutes > 1.0 and self._another_moved(sight) else 0.0

    def _another_moved(self, sight: SpotSight) -> bool:
        assert sight.vessel is not None  # noqa: S101 - asked for only where there is one
        now = sight.vessel.values
        return any(
            before is not None and (value := now.get(name)) is not None
            and abs(value - before) > MOVED_K
            for name, before in self._others.items()
            if name != sight.name
        )  # fmt: skip

    def _may_judge(self, sight: SpotSight) -> bool:
        name, vessel = sight.name, sight.vessel
        if name in ALWAYS_MOVES:
            return True
        still = None if vessel is None else vessel.still
        boils = still is not None and still.phase is Phase.BOILING
        if not boils:
            self._others = {}
        return boils and name in MOVES_WHILE_BOILING


class OfSystem(Measure[SystemSight]):
    """A number the house knows of itself."""

    __slots__ = ("_part",)

    def __init__(self, part: Callable[[SystemSight], float | None]) -> None:
        self._part = part

    def see(self, sight: SystemSight) -> float | None:
        """Return it."""
        return self._part(sight)
