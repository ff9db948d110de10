"""Following a run: half-minute blocks and what the record says, learned from in order."""

from collections.abc import Callable
from copy import copy, deepcopy
from dataclasses import replace
from math import hypot, inf
from typing import Final

import numpy as np

from api.estimates.ground import JarGround, Measured, ProbeGround, RunGround, StillGround
from api.estimates.still import untold, words
from api.estimates.still.charged import WARMING, Charged, boil_at
from api.estimates.still.learning import CONTRADICTS_Z, learn, surprise
from api.estimates.still.members import (
    REFLUX_RUNS,
    TURNED_DOWN,
    UNKNOWN_HPA,
    Chance,
    Row,
    at_pressure,
    begin,
    frame_of,
)
from api.estimates.still.motion import (
    Air,
    Look,
    advance,
    boils_c,
    collected,
    go_on,
    head_c,
    look,
    spout_share,
)
from api.estimates.still.past import Past
from api.estimates.still.recorded import Recorded
from api.estimates.still.signs import BAD_S, Block, Signs
from api.estimates.still.trail import Trail
from api.estimates.still.unseen import LONGEST_S, NOISE_K, UNSEEN_S, Found, boils_again, go_unseen
from api.estimates.still.weather import Weather, hpa_error, told_hpa
from calc.arrays import median
from calc.pressure import ZERO_C
from calc.quantities import FloatArray
from calc.strength_table import azeotrope_k

_UNMIXED_K: Final = 0.5
_MIXED_C: Final = 40.0
# What a block shows is older than its end: by half its length, and by what a sheathed probe lags:
# some 25 s in a liquid, 10 s in vapour. The errors of both. Common practice, no source.
_POT_LAG_S: Final = (40.0, 15.0)
_HEAD_LAG_S: Final = (25.0, 8.0)
_HEAD_NOISE_K: Final = 0.25
# A column that changes by 1 K in a minute may be 1 K from its balance, and more by the square.
# Common practice, no source.
_HEAD_MOVES_S2_K: Final = 3600.0
_REFUSED_BLOCKS: Final = 6
_LONG_GAP_S: Final = 150
_STARTS_S: Final = 180  # of warming, in which a probe still finds its place
_BOILS_ON_S: Final = 300  # by what is hot beside it, once the heat is off: no loss is to be read
_TURNED_BY: Final = 0.5  # of the reflux's logit, a block in which the head steps down
_DRIPS: Final = 0.5  # of the members


class Follower:
    """Where a run stands, by some hundred members of what it could be."""

    def __init__(
        self,
        still: StillGround,
        run: RunGround,
        probes: tuple[ProbeGround, ProbeGround],
        hour: Callable[[int], str],
        block: Block,
    ) -> None:
        self.still, self.run, self.probes = still, run, probes
        self.doubts: dict[str, str] = {}  # what could not be believed, by what it is about
        self.chance = Chance.new()
        self.signs = Signs(probes)
        self.slot = block.slot
        self.air = Air(UNKNOWN_HPA.value)
        self._breathe(block)
        self.frame = frame_of(still, run, self.air.hpa)
        pot_c = 20.0 if block.pot_c is None else block.pot_c
        self.s = begin(self.frame, self.chance, pot_c, probes, block.told_error_hpa)
        known = run.charge_abv is not None
        self._charged = Charged.of(self.s, pot_c, known=known)
        self._weather = Weather(block)
        self.boiled = self.dripping = False
        self._off_slot = block.slot  # since when it cools
        self._lost_slot = block.slot
        self._found = False  # after a stretch that told nothing, until it is seen to boil again
        self._boiling = 0.0
        self._recorded = Recorded(self, hour)
        self._refused = {"pot": 0, "head": 0}
        self._trail = Trail()
        self._past = Past()

    def resumed(self, run: RunGround) -> "Follower":
        """Return one that stands where this one does, and goes on by what the record says now."""
        other = copy(self)
        other.part(run)
        return other

    def ahead_by(self, seconds: float) -> "Follower":
        """Return one to look at only, whose members have gone on for so long."""
        other = copy(self)
        other.s = self.s.copy()
        advance(other.s, self.frame, self.air, seconds)
        return other

    def part(self, run: RunGround) -> None:
        """Share nothing that changes with the one this is a copy of."""
        self.run, self.frame = run, replace(self.frame, run=run)
        self.doubts, self._refused = dict(self.doubts), dict(self._refused)
        self.chance, self.signs = deepcopy(self.chance), deepcopy(self.signs)
        self._weather, self._charged = copy(self._weather), copy(self._charged)
        self.s, self._trail, self._past = self.s.copy(), self._trail.copy(), self._past.copy()
        self._recorded = self._recorded.resumed(self)

    @property
    def readings(self) -> int:
        """How many readings of the spout were believed."""
        return self._recorded.readings

    @property
    def heating(self) -> bool:
        """Whether the heat is on."""
        return self.signs.heating

    @property
    def heated_s(self) -> int:
        """For how long it has been."""
        return self.signs.heated_s

    @property
    def steady(self) -> bool:
        """Whether the pot warms evenly."""
        return self.signs.steady

    @property
    def boils(self) -> bool:
        """Whether the pot boils now; it may have cooled since it first did."""
        return self.boiled and self._boiling > 0.5

    def step(self, block: Block) -> None:
        """Take one block."""
        self._breathe(block)
        self.frame = at_pressure(self.frame, self.air.hpa)
        marked = self._recorded.heat_on(block.slot)
        was_heating, was_bad = self.heating, self.bad
        self.signs.see(block, self.air.hpa, hpa_error(block), marked=marked)
        if self.bad and not was_bad:
            self._lost_slot = block.slot - BAD_S
        if was_bad and not self.bad and self.boiled:
            self._found = True  # nothing was learned meanwhile, as if nobody had read it
        if was_heating and not self.heating:
            self._off_slot = self.signs.off_since or block.slot
            if self.signs.off_since is not None and self.boiled:
                self._go_back(self.signs.off_since)
        self.air = replace(self.air, heat_on=self.heating)
        self._step(block)

    def _breathe(self, block: Block) -> None:
        self.pot_c, self.head_there = block.pot_c, block.head_c is not None
        self.block = block
        hpa = told_hpa(block).value + (self.run.seal_hpa or 0.0)
        room_c = 20.0 if block.room_c is None else block.room_c
        self.air = Air(hpa, room_c)

    def now(self) -> Look:
        """Work out what the members say."""
        return look(self.s, self.frame, self.air)

    @property
    def bad(self) -> str | None:
        """Why nothing at all can be told of the balance."""
        return untold.of_run(self.run) or untold.of_signs(self.signs)

    def jar_under_spout(self) -> JarGround | None:
        """Return the jar that is being filled, as recorded."""
        open_jars = [jar for jar in self.run.jars if jar.to_slot is None]
        begun = [jar for jar in open_jars if jar.from_slot <= self.slot]
        return begun[-1] if begun else None

    def litres_when_begun(self, jar: JarGround) -> FloatArray:
        """Return what the members had collected when a jar was begun."""
        ethanol, water = self._recorded.when_begun(jar)
        moles = np.maximum(ethanol + water, 1e-9)
        share = np.clip(ethanol / moles, 0.0, 1.0)
        litres: FloatArray = moles * self.frame.boiling.litres_mol(share)
        return litres

    def litres_at_share(self, share: float) -> Measured | None:
        """Return what was collected when a share of the alcohol was over; None before that."""
        return self._trail.at_share(share)

    def litres_at_abv(self, abv: float) -> Measured | None:
        """Return what was collected when the spout fell to a strength; None before that."""
        return self._trail.at_abv(abv)

    def _step(self, block: Block) -> None:
        dt_s = max(block.slot - self.slot, 1)
        if self._weather.turn(self.s, self.chance, block, dt_s):
            self._past.forget()  # what was then is told beside another pressure
        self._go_on(block, dt_s)
        self.slot = block.slot
        now = self.now()
        if self.bad is None and self._contradicts_charge(block, now):
            self._begin_again(block, now)
            now = self.now()
        boiling = now.boiling.copy()
        if self.bad is None:
            self._learn_pot(block, now)
            self._learn_head(block, boiling)
            self._recorded.learn(boiling)
        self.settle(boiling)
        self._note(boiling)

    def _go_on(self, block: Block, dt_s: float) -> None:
        if dt_s > UNSEEN_S and self.air.heat_on and block.pot_c is not None:
            found = Found(block.pot_c, vapour=self.signs.head_hot_since is not None)
            go_unseen(self.s, self.frame, self.chance, self.air, dt_s, found)
            self._past.forget()  # since when the heat was off, where it was, nobody saw
            self._found, self._lost_slot = True, block.slot
        else:
            go_on(self.s, self.frame, self.chance, self.air, min(dt_s, LONGEST_S))
        if dt_s > _LONG_GAP_S:
            self._widen_over(dt_s)

    def _go_back(self, slot: int) -> None:
        """Unlearn what was learned while the heat, unmarked, was off already."""
        kept = self._past.at(slot)
        if kept is not None:
            begun = self.s[[Row.BEGUN_ETHANOL, Row.BEGUN_WATER]]
            self.slot, self.s = kept.slot, kept.s.copy()
            self.s[[Row.BEGUN_ETHANOL, Row.BEGUN_WATER]] = begun
            self._past.forget()
        self.signs.off_since = None

    def _contradicts_charge(self, block: Block, now: Look) -> bool:
        if block.pot_c is None or not self.heating:
            return False
        boils = self._seen_to_boil(block.pot_c, now)
        return self._charged.contradicts(self.s, self.frame, self.air, block.pot_c, boils=boils)

    def _begin_again(self, block: Block, now: Look) -> None:
        """Begin as if nobody had said how strong the charge is: the pot tells."""
        self.doubts["pot"] = words.CHARGE_CONTRADICTED
        assert block.pot_c is not None  # noqa: S101 - it is what contradicts
        before = self.s
        frame = replace(self.frame, run=replace(self.run, charge_abv=None))
        self.s = begin(frame, self.chance, block.pot_c, self.probes, block.told_error_hpa)
        self.s[WARMING] = before[WARMING]
        boils = self._seen_to_boil(block.pot_c, now)
        if boils:
            boil_at(self.s, frame, self.air, self.chance, block.pot_c)
        elif self.boiled and not self.run.powers_w:  # it was turned down for a boil that is none
            self.s[Row.LN_HEAT] += TURNED_DOWN[self.run.purpose in REFLUX_RUNS][0]
        self.boiled, self.dripping = self.boiled and boils, False
        self._trail = Trail()
        self._past.forget()

    def _widen_over(self, dt_s: float) -> None:
        """Nobody looked: power and reflux may have changed meanwhile."""
        part = min(dt_s / 3600.0, 1.0) ** 0.5
        self.s[Row.LN_HEAT] += self.chance.noise(0.25 * part)
        self.s[Row.REFLUX] += self.chance.noise(0.3 * part)

    def _learn_pot(self, block: Block, now: Look) -> None:
        if block.pot_c is None:
            return
        lag_s, lag_error_s = _POT_LAG_S
        off_k = self.s[Row.POT_PROBE_K] - lag_s * self.signs.pot_rate_k_s
        cooling = self.boiled and not self.heating
        settles = cooling and self.slot - self._off_slot < _BOILS_ON_S
        if self._found and self._boils_again(now):
            since_s = block.slot - self._lost_slot
            boils_again(self.s, self.frame, self.chance, self.air, since_s, block.pot_c)
            self._found = False
            return
        if settles or self._found or (not self.boiled and self.heated_s < _STARTS_S):
            self.s[Row.POT_C] = np.minimum(block.pot_c - off_k, now.boils_c)
            return
        # A charge that is not mixed yet is not at one temperature.
        noise = NOISE_K if block.pot_c > _MIXED_C else _UNMIXED_K
        error = hypot(noise, lag_error_s * self.signs.pot_rate_k_s)
        said = self.s[Row.POT_C] + off_k
        far = abs(surprise(said, block.pot_c, error).z) > CONTRADICTS_Z + 1.0
        self._refused["pot"] = self._refused["pot"] + 1 if far else 0
        if far and self._refused["pot"] <= _REFUSED_BLOCKS:
            return
        if far:
            self._loosen(now)
            said = self.s[Row.POT_C] + off_k
        learn(self.s, said, block.pot_c, error, (Row.POT_C, Row.LN_LOSS) if cooling else None)

    def _seen_to_boil(self, pot_c: float, now: Look) -> bool:
        """Say so of a charge that is heated; without a head's probe, not before it can boil."""
        coolest_c = float(azeotrope_k(self.air.hpa)) - ZERO_C
        return self._boils_again(now) and (self.head_there or pot_c > coolest_c)

    def _boils_again(self, now: Look) -> bool:
        """Say so by the head; where it has no probe, by a pot that warms too slowly."""
        if not self.heating:
            return False
        if self.head_there:
            return self.signs.head_settled(self.slot)
        rate = self.signs.warming_k_s
        return rate is not None and rate < 0.5 * float(median(now.net_w / now.held_j_k))

    def _loosen(self, now: Look) -> None:
        """Widen: the pot has long been where no member is, so what was recorded does not hold."""
        self._refused["pot"] = 0
        self.s[Row.LN_HEAT] += self.chance.noise(0.3)
        if now.boiling.mean() > 0.5 and self.heating:
            self.s[Row.LN_ETHANOL] += self.chance.noise(0.3)
            self.settle(now.boiling)
            if self.run.charge_abv is not None:
                self.doubts["pot"] = words.CHARGE_CONTRADICTED
        else:
            self.s[Row.POT_C] += self.chance.noise(1.0)

    def _learn_head(self, block: Block, boiling: FloatArray) -> None:
        frame = self.frame
        if block.head_c is None or boiling.mean() < 0.5 or not self.signs.head_settled(block.slot):
            return
        if frame.reflux and self.signs.head_steps_down:
            self.s[Row.REFLUX] += self.chance.noise(_TURNED_BY)
        lag_s, lag_error_s = _HEAD_LAG_S
        said = head_c(self.s, frame, self.now()) - lag_s * self.signs.head_rate_k_s
        moves_k = _HEAD_MOVES_S2_K * self.signs.head_rate_k_s**2
        error = hypot(_HEAD_NOISE_K, lag_error_s * self.signs.head_rate_k_s, moves_k)
        if abs(surprise(said, block.head_c, error).z) > CONTRADICTS_Z + 1.0:
            self._refused["head"] += 1
            if self._refused["head"] > _REFUSED_BLOCKS:
                self._doubt_head(block.head_c)
            return
        self._refused["head"] = 0
        self.doubts.pop("head", None)
        learn(self.s, said, block.head_c, error)

    def _doubt_head(self, shown_c: float) -> None:
        wide = 0.2 if self.frame.reflux else 0.05
        self.s[Row.COLUMN_OFF] += self.chance.noise(wide)
        self.s[Row.REFLUX] += self.chance.noise(wide)
        self.doubts["head"] = words.HEAD_CONTRADICTS.format(head_c=shown_c)

    def settle(self, boiling: FloatArray) -> None:
        """Put what boils back on its boiling point after learning has moved it."""
        s = self.s
        s[Row.PLATES] = np.clip(s[Row.PLATES], 0.0, 8.0)
        s[Row.REFLUX] = np.clip(s[Row.REFLUX], -5.0, 3.5)
        boils = boils_c(s, self.frame, self.air)
        s[Row.POT_C] = np.where(boiling, boils, np.minimum(s[Row.POT_C], boils))

    def _note(self, boiling: FloatArray) -> None:
        frame = self.frame
        self._boiling = float(boiling.mean())
        if not self.boiled and self._boiling > 0.5 and self.heating:
            self.boiled = True
            if not self.run.powers_w:
                longer, error = TURNED_DOWN[self.run.purpose in REFLUX_RUNS]
                self.s[Row.LN_HEAT] += self.chance.normal(-longer, error)
        self._past.keep(self.slot, -inf if self.pot_c is None else self.pot_c, self.s)
        if not (self.boiled and self.heating):
            return
        now = self.now()
        ethanol, water = collected(self.s, frame, now)
        self.dripping = self.dripping or float((ethanol > 0.0).mean()) > _DRIPS
        if self.dripping:
            moles = float(ethanol.mean() + water.mean())
            share = float(ethanol.mean()) / max(moles, 1e-9)
            charged = np.exp(self.s[Row.LN_ETHANOL]) + self.s[Row.ETHANOL_OVER]
            self._trail.note(
                moles * float(frame.boiling.litres_mol(share)),
                ethanol / charged,
                frame.boiling.strength_abv(spout_share(self.s, now)),
            )
