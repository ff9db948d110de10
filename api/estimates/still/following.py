"""Following a run: half-minute blocks and what the record says, learned from in order."""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import exp, hypot, log
from typing import Final

import numpy as np

from api.estimates.ground import JarGround, ProbeGround, RunGround, SpoutReading, StillGround
from api.estimates.still.learning import CONTRADICTS_Z, learn, surprise
from api.estimates.still.members import (
    DERIVED_HPA,
    MEASURED_HPA,
    UNKNOWN_HPA,
    Chance,
    Frame,
    Row,
    begin,
    frame_of,
)
from api.estimates.still.motion import Air, Look, collected, go_on, look
from calc.quantities import FloatArray
from calc.run_balance import logit, unlogit

BLOCK_S: Final = 30
_NOISE_K: Final = 0.06
_POT_LAG_S: Final = 35.0
_HEAD_LAG_S: Final = 20.0
_HEAD_NOISE_K: Final = 0.1
_SETTLES_S: Final = 240  # of a head that has just grown hot
_REFUSED_BLOCKS: Final = 6
_LONG_GAP_S: Final = 150
_FALLS_K_S: Final = -0.15 / 60.0
_RISES_K_S: Final = 0.1 / 60.0
_READING_ABV: Final = 0.3  # what a sample lags behind the spout


@dataclass(frozen=True, slots=True)
class Block:
    """Half a minute's means."""

    slot: int  # of its end
    pot_c: float | None
    head_c: float | None
    room_c: float | None
    hpa: float | None
    hpa_measured: bool


@dataclass(slots=True)
class Doubts:
    """What could not be believed, in words, by what it is about."""

    said: dict[str, str] = field(default_factory=dict)


class Follower:
    """Where a run stands, by some hundred members of what it could be."""

    def __init__(
        self,
        still: StillGround,
        run: RunGround,
        probes: tuple[ProbeGround, ProbeGround],
        hour: Callable[[int], str],
    ) -> None:
        self._still, self._run, self._probes, self._hour = still, run, probes, hour
        self._chance = Chance.new()
        self.frame: Frame | None = None
        self.s: FloatArray = np.empty((0, 0))
        self.air = Air(UNKNOWN_HPA.value)
        self.slot = 0
        self.doubts = Doubts()
        self.heating = False  # heat is on, as marked or as the pot says
        self.boiled = False
        self.head_hot_since: int | None = None
        self.readings = 0  # of the spout, believed
        self.swapped = False
        self._rates: list[tuple[int, float]] = []
        self._head_before: float | None = None
        self._refused = {"pot": 0, "head": 0}
        self._spout = sorted(run.spout, key=_slot)
        self._starts = sorted((jar for jar in run.jars), key=lambda jar: jar.from_slot)
        self._ends: list[JarGround] = []
        self._powers = list(run.powers_w)
        self._power_w: float | None = None
        self._first_drop = run.first_drop_slot
        self._jars: dict[JarGround, tuple[FloatArray, FloatArray]] = {}

    def step(self, block: Block) -> None:
        """Take one block."""
        self._breathe(block)
        if self.frame is None:
            self._begin(block)
            return
        dt_s = max(block.slot - self.slot, 1)
        self._judge_heat(block)
        frame = self.frame
        go_on(self.s, frame, self._chance, self.air, dt_s)
        if dt_s > _LONG_GAP_S:
            self._widen_over(dt_s)
        self.slot = block.slot
        now = look(self.s, frame, self.air)
        boiling = now.boiling.copy()
        self._pot(block, now)
        self._head(block, boiling)
        self._recorded(boiling)
        self._settle(boiling)

    def now(self) -> Look:
        """What the members say."""
        assert self.frame is not None
        return look(self.s, self.frame, self.air)

    @property
    def boiling_share(self) -> float:
        """How many of the members boil."""
        return 0.0 if self.frame is None else float(self.now().boiling.mean())

    def _breathe(self, block: Block) -> None:
        hpa = UNKNOWN_HPA.value if block.hpa is None else block.hpa
        room = 20.0 if block.room_c is None else block.room_c
        self.air = Air(hpa, room, self.heating)

    def _begin(self, block: Block) -> None:
        if block.pot_c is None:
            return
        if block.hpa is None:
            error = UNKNOWN_HPA.error
        else:
            error = MEASURED_HPA if block.hpa_measured else DERIVED_HPA
        self.frame = frame_of(self._still, self._run, self.air.hpa)
        self.s = begin(self.frame, self._chance, block.pot_c, self._probes, error)
        self.slot = block.slot
        self._rates = [(block.slot, block.pot_c)]

    def _judge_heat(self, block: Block) -> None:
        """Say whether the heat is on: by what is marked, and by what the pot does."""
        marked = self._marked(block.slot)
        rate = self._rate(block)
        if marked is not None:
            self.heating = marked
        elif rate is not None and rate > _RISES_K_S:
            self.heating = True
        if rate is not None and rate < _FALLS_K_S:
            self.heating = False
        self.air = Air(self.air.hpa, self.air.room_c, self.heating)

    def _marked(self, slot: int) -> bool | None:
        while self._powers and self._powers[0][0] <= slot:
            _, power_w = self._powers.pop(0)
            if self._power_w and power_w > 0.0:
                change = log(power_w / self._power_w)
                self.s[Row.LN_HEAT] += change + self._chance.noise(0.03 * abs(change))
            self._power_w = power_w or self._power_w
            self._on = power_w > 0.0
        off = self._run.heat_off_slot
        if off is not None and slot >= off:
            return False
        return self._on if self._power_w is not None else None

    _on = False

    def _rate(self, block: Block) -> float | None:
        """How fast the pot warms, K/s over some three minutes."""
        if block.pot_c is None:
            return None
        self._rates.append((block.slot, block.pot_c))
        while len(self._rates) > 2 and block.slot - self._rates[0][0] > 180:
            self._rates.pop(0)
        slot, pot_c = self._rates[0]
        apart = block.slot - slot
        return (block.pot_c - pot_c) / apart if 60 <= apart <= 400 else None

    def _widen_over(self, dt_s: float) -> None:
        """Nobody looked: power and reflux may have changed meanwhile."""
        hours = dt_s / 3600.0
        self.s[Row.LN_HEAT] += self._chance.noise(0.25 * min(hours, 1.0) ** 0.5)
        self.s[Row.REFLUX] += self._chance.noise(0.3 * min(hours, 1.0) ** 0.5)

    def _pot(self, block: Block, now: Look) -> None:
        if block.pot_c is None:
            return
        rate = self._rate_of_block(block)
        # A charge that is not mixed yet is not at one temperature.
        error = hypot(_NOISE_K if block.pot_c > 40.0 else 0.5, _POT_LAG_S * rate)
        said = self.s[Row.POT_C] + self.s[Row.POT_PROBE_K]
        found = surprise(said, block.pot_c, error)
        if abs(found.z) > CONTRADICTS_Z + 1.0 and self._refused["pot"] < _REFUSED_BLOCKS:
            self._refused["pot"] += 1
            return
        if self._refused["pot"] >= _REFUSED_BLOCKS:
            self._start_anew(now)
        self._refused["pot"] = 0
        learn(self.s, said, block.pot_c, error)

    def _rate_of_block(self, block: Block) -> float:
        if len(self._rates) < 2:
            return 0.0
        (before, was_c), (after, is_c) = self._rates[-2:]
        return (is_c - was_c) / max(after - before, 1)

    def _start_anew(self, now: Look) -> None:
        """The pot has long been where no member is: it is not the charge that was recorded."""
        self.s[Row.LN_HEAT] += self._chance.noise(0.3)
        if now.boiling.mean() > 0.5:
            self.s[Row.LN_ETHANOL] += self._chance.noise(0.3)
            self.doubts.said["pot"] = (
                "The pot's temperature contradicts the charge as it was recorded."
            )
        else:
            self.s[Row.POT_C] += self._chance.noise(1.0)

    def _head(self, block: Block, boiling: FloatArray) -> None:
        frame = self.frame
        assert frame is not None
        if block.head_c is None:
            self._head_before = None
            return
        rate = 0.0
        if self._head_before is not None:
            rate = (block.head_c - self._head_before) / BLOCK_S
        self._head_before = block.head_c
        coolest = 78.15 + (self.air.hpa - 1013.0) * 0.026
        hot = block.head_c > coolest - 2.5 and boiling.mean() > 0.5
        if not hot:
            self.head_hot_since = None
            return
        self.head_hot_since = self.head_hot_since or block.slot
        if block.slot - self.head_hot_since < _SETTLES_S:
            return
        said = head_c(self.s, frame, self.now())
        error = hypot(_HEAD_NOISE_K, _HEAD_LAG_S * rate)
        found = surprise(said, block.head_c, error)
        if abs(found.z) > CONTRADICTS_Z + 1.0:
            self._refused["head"] += 1
            if self._refused["head"] > _REFUSED_BLOCKS:
                self._doubt_head(block)
            return
        self._refused["head"] = 0
        self.doubts.said.pop("head", None)
        learn(self.s, said, block.head_c, error)

    def _doubt_head(self, block: Block) -> None:
        self.s[Row.COLUMN_OFF] += self._chance.noise(0.2)
        self.s[Row.REFLUX] += self._chance.noise(0.2)
        self.doubts.said["head"] = (
            f"The head shows {block.head_c:.1f} °C, which does not go with the pot."
        )

    def _recorded(self, boiling: FloatArray) -> None:
        frame = self.frame
        assert frame is not None
        if self._first_drop is not None and self.slot >= self._first_drop:
            self._first_drop = None
            over = self.s[Row.ETHANOL_OVER] + self.s[Row.WATER_OVER]
            if float(over.mean()) > 0.0:
                said = np.log(np.maximum(over, 0.01)) - self.s[Row.LN_FILL]
                learn(self.s, said, 0.0, 0.2)
        while self._starts and self._starts[0].from_slot <= self.slot:
            jar = self._starts.pop(0)
            ethanol, water = collected(self.s, frame, self.now())
            self._jars[jar] = (ethanol.copy(), water.copy())
            if jar.to_slot is not None:
                self._ends.append(jar)
        while self._spout and self._spout[0].slot <= self.slot:
            self._settle(boiling)
            self._read(self._spout.pop(0))
        for jar in [jar for jar in self._ends if jar.to_slot is not None and jar.to_slot <= self.slot]:
            self._ends.remove(jar)
            self._settle(boiling)
            self._jar(jar)

    def _read(self, reading: SpoutReading) -> None:
        now = self.now()
        frame = self.frame
        assert frame is not None
        y = unlogit(now.top + self.s[Row.ARM])
        said = frame.boiling.strength_abv(y)
        error = hypot(reading.abv.error, _READING_ABV)
        found = surprise(said, reading.abv.value, error)
        if abs(found.z) > CONTRADICTS_Z:
            self.doubts.said[f"spout {reading.slot}"] = (
                f"The reading of {reading.abv.value:.1f} % vol at {self._hour(reading.slot)} "
                f"contradicts everything else, which says about {found.expected:.0f} % vol."
            )
            return
        self.readings += 1
        learn(self.s, said, reading.abv.value, error)

    def _jar(self, jar: JarGround) -> None:
        frame = self.frame
        assert frame is not None
        began = self._jars.pop(jar)
        for which in ("volume", "abv"):
            measured = jar.volume_l if which == "volume" else jar.abv
            if measured is None:
                continue
            ethanol, water = collected(self.s, frame, self.now())
            drawn = np.maximum(ethanol - began[0], 1e-6), np.maximum(water - began[1], 1e-6)
            moles = drawn[0] + drawn[1]
            share = drawn[0] / moles
            if which == "volume":
                said = np.log(moles * frame.boiling.litres_mol(share) + 1e-3)
                value = log(max(measured.value, 1e-3))
                error = hypot(measured.error / max(measured.value, 1e-3), 0.01)
                unit = "L"
            else:
                said = frame.boiling.strength_abv(share)
                value, error, unit = measured.value, hypot(measured.error, 0.3), "% vol"
            found = surprise(said, value, error)
            if abs(found.z) > CONTRADICTS_Z:
                expected = exp(found.expected) if unit == "L" else found.expected
                self.doubts.said[f"jar {jar.from_slot} {which}"] = (
                    f"The {measured.value:.4g} {unit} of the jar begun at "
                    f"{self._hour(jar.from_slot)} contradict everything else, which says about "
                    f"{expected:.3g} {unit}."
                )
                continue
            learn(self.s, said, value, error)

    def _settle(self, boiling: FloatArray) -> None:
        """Put what boils back on its boiling point after learning has moved it."""
        frame = self.frame
        assert frame is not None
        s = self.s
        s[Row.PLATES] = np.clip(s[Row.PLATES], 0.0, 8.0)
        s[Row.REFLUX] = np.clip(s[Row.REFLUX], -5.0, 3.5)
        now = look(s, frame, self.air)
        s[Row.POT_C] = np.where(boiling, now.boils_c, np.minimum(s[Row.POT_C], now.boils_c))
        self.boiled = self.boiled or float(boiling.mean()) > 0.5


def head_c(s: FloatArray, frame: Frame, now: Look) -> FloatArray:
    """What the head's probe shows, by each member."""
    seen = frame.boiling.liquid_under(unlogit(now.top - s[Row.VAPOUR_OFF]))
    shown: FloatArray = frame.boiling.temperature_c(seen, now.over_hpa) + s[Row.HEAD_PROBE_K]
    return shown


def spout_share(s: FloatArray, now: Look) -> FloatArray:
    """Mole fraction of ethanol at the spout, by each member."""
    share: FloatArray = unlogit(np.minimum(now.top + s[Row.ARM], 2.9))
    return share


def _slot(reading: SpoutReading) -> int:
    return reading.slot


__all__ = ["BLOCK_S", "Block", "Follower", "head_c", "logit", "spout_share"]
