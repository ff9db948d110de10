"""Telling what the members say: quantiles as bands, or why it cannot be told."""

from dataclasses import dataclass, field
from math import exp
from typing import Final

import numpy as np

from api.estimates.estimate import Estimate
from api.estimates.ground import END_ABV
from api.estimates.still import untold, words
from api.estimates.still.ahead import (
    Ahead,
    crossing,
    look_ahead,
    seconds_to_boil,
    seconds_to_cool,
    seconds_to_first_drop,
)
from api.estimates.still.bands import Phase, band, phase_of
from api.estimates.still.cuts import CUT_RUNS, tell_cuts
from api.estimates.still.following import Follower
from api.estimates.still.members import (
    MEMBERS,
    TURNED_DOWN,
    USUAL_SOLIDS_G_L,
    WASH_RUNS,
    Frame,
    Row,
)
from api.estimates.still.motion import Look, collected, first_abv, spout_share
from api.estimates.still.narrowing import narrowing
from calc.alcoholometry import ETHANOL_G_MOL, density
from calc.arrays import median
from calc.heat import raw_latent_kj_mol
from calc.quantities import FloatArray
from calc.vapour_strength import RICHEST_TOLD_ABV, WIDEST_USEFUL_ABV

PURE_L_MOL: Final = ETHANOL_G_MOL / float(density(1.0, 20.0))
COOL_C: Final = 50.0
_MIXED_S: Final = 300
# What is told of a block is told 10 s after its end, and stands until the next is whole.
_STANDS_S: Final = 20.0
_MIXED_ABV: Final = 0.25  # of what is collected: what a column does before it has settled
_SPREAD: Final = np.random.default_rng(5).standard_normal(MEMBERS)
REFLUX_AT: Final = 0.25  # of the vapour coming back, from here up


@dataclass(slots=True)
class Teller:
    """One moment's estimates."""

    follower: Follower
    now: Look
    phase: Phase
    out: list[Estimate] = field(default_factory=list)

    def tell(
        self,
        quantity: str,
        values: FloatArray,
        *rests: str,
        narrows: bool = True,
        why: str | None = None,
    ) -> None:
        """Tell one as the members have it, with a sentence beside it where there is one."""
        good = values[np.isfinite(values)]
        low, low_68, middle, high_68, high = self._band(quantity, good)
        self.out.append(
            Estimate(
                quantity, middle, low, high, why,
                low_68=low_68, high_68=high_68,
                rests_on=rests,
                contradictions=self._contradictions(),
                narrows=tuple(narrowing(self.follower)) if narrows else (),
            )
        )  # fmt: skip

    def cannot(self, quantity: str, why: str, band: tuple[float, float] | None = None) -> None:
        """Say why not."""
        low, high = band or (None, None)
        self.out.append(
            Estimate(quantity, None, low, high, why, contradictions=self._contradictions())
        )

    def strength(self, quantity: str, values: FloatArray, *rests: str) -> None:
        """Tell a strength, unless it is too near the azeotrope or too wide."""
        low, _, middle, _, high = self._band(quantity, values)
        if middle > RICHEST_TOLD_ABV:
            self.cannot(quantity, words.AZEOTROPE.format(low=low, high=high), (low, high))
        elif high - low > WIDEST_USEFUL_ABV:
            self.cannot(quantity, words.WIDE.format(low=low, high=high), (low, high))
        else:
            self.tell(quantity, values, *rests)

    def _band(self, quantity: str, values: FloatArray) -> list[float]:
        return band(quantity, self.follower.run.purpose, self.phase, values)

    def _contradictions(self) -> tuple[str, ...]:
        return tuple(self.follower.doubts.values())


def tell_all(stood: Follower) -> tuple[Estimate, ...]:
    """Tell every quantity that comes of the members."""
    follower = stood.ahead_by(_STANDS_S)
    now = follower.now()
    teller = Teller(follower, now, _phase(follower))
    frame = follower.frame
    over = collected(follower.s, frame, now)
    _strengths(teller, frame)
    if teller.follower.bad is not None:
        for quantity in OF_MEMBERS[3:-1]:
            teller.cannot(quantity, teller.follower.bad)
        _cooling(teller)
        return tuple(teller.out)
    _position(teller, frame, over)
    _rate(teller, frame)
    _beginning(teller)
    ahead = look_ahead(follower, now, over)
    _end(teller, ahead)
    _jar(teller, ahead)
    tell_cuts(teller, ahead)
    _cooling(teller)
    return tuple(teller.out)


def _phase(follower: Follower) -> Phase:
    ethanol = np.exp(follower.s[Row.LN_ETHANOL])
    return phase_of(
        dripping=follower.dripping,
        boiled=follower.boiled,
        heating=follower.heating,
        left_share=float(median(ethanol / (ethanol + follower.s[Row.ETHANOL_OVER]))),
    )


OF_MEMBERS: Final = (
    "pot_abv", "vapour_abv", "spout_abv",
    "alcohol_left_l", "alcohol_recovered_l", "recovered_percent", "collected_l", "collected_abv",
    "rate_ml_min", "heat_w", "reflux_ratio", "minutes_to_boil", "minutes_to_first_drop",
    "minutes_to_end", "end_collected_l", "end_collected_abv", "minutes_to_jar_full", "hearts_l",
    "tails_near", "minutes_to_pot_below_50_c",
)  # fmt: skip


def _strengths(teller: Teller, frame: Frame) -> None:
    follower, now = teller.follower, teller.now
    s = follower.s
    why = untold.of_strengths(follower)
    of_air = (words.of_air(follower.block), _sealed(follower))
    rests = (words.FROM_POT, _dissolved(follower), *of_air)
    if why is None:
        teller.strength("pot_abv", frame.boiling.strength_abv(now.x), *filter(None, rests))
    else:
        teller.cannot("pot_abv", why)
    of_head = untold.of_vapour(follower)
    if of_head is None:
        values = frame.boiling.strength_abv(now.y)
        teller.strength("vapour_abv", values, words.FROM_HEAD, _mode(now), *filter(None, of_air))
    else:
        teller.cannot("vapour_abv", of_head)
    of_spout = of_head if follower.pot_c is None else why  # something must be read
    dripping = of_spout or (None if follower.dripping else words.NOTHING_RUNS)
    if dripping is None:
        values = frame.boiling.strength_abv(spout_share(s, now))
        said = words.FROM_HEAD if follower.head_there else words.FROM_POT
        teller.strength("spout_abv", values, said, *_of_readings(follower))
    else:
        teller.cannot("spout_abv", dripping)


def _dissolved(follower: Follower) -> str:
    known = follower.run.dissolved_g_l
    if known is not None:
        said = words.DISSOLVED_KNOWN.format(grams=known.value)
        return said if follower.run.purpose in WASH_RUNS else ""
    grams, error = USUAL_SOLIDS_G_L.value, 2.0 * USUAL_SOLIDS_G_L.error
    said = words.DISSOLVED.format(low=grams * exp(-error), high=grams * exp(error))
    return said if follower.run.purpose in WASH_RUNS else ""


def _sealed(follower: Follower) -> str:
    seal_hpa = follower.run.seal_hpa
    return words.SEALED.format(hpa=seal_hpa) if seal_hpa else ""


def _of_readings(follower: Follower) -> tuple[str, ...]:
    n = follower.readings
    if n == 0:
        return ()
    return (words.FROM_READING if n == 1 else words.FROM_READINGS.format(n=n),)


def _mode(now: Look) -> str:
    under = float(median(now.returned)) > REFLUX_AT
    return words.UNDER_REFLUX if under else words.AS_POT_STILL


def _of_charge(follower: Follower) -> str:
    known = follower.run.charge_volume_l is not None
    return words.FROM_CHARGE if known else words.FROM_SIZE


def _position(teller: Teller, frame: Frame, over: tuple[FloatArray, FloatArray]) -> None:
    follower = teller.follower
    s = follower.s
    left = np.exp(s[Row.LN_ETHANOL])
    charged = left + s[Row.ETHANOL_OVER]
    ethanol, water = over
    moles = ethanol + water
    share = ethanol / np.maximum(moles, 1e-9)
    rests = (words.FROM_POT, _of_charge(follower), *_of_readings(follower))
    unknown = follower.run.charge_volume_l is None or follower.run.charge_abv is None
    why = None if frame.sized else words.NO_SIZE
    if unknown and not follower.boiled:
        why = words.NO_CHARGE
    litres = moles * frame.boiling.litres_mol(share)
    for quantity, values in (
        ("alcohol_left_l", left * PURE_L_MOL),
        ("alcohol_recovered_l", ethanol * PURE_L_MOL),
        ("collected_l", litres),
    ):
        if why is None:
            teller.tell(quantity, values, *rests)
        else:
            teller.cannot(quantity, why)
    if unknown and not follower.boiled:
        teller.cannot("recovered_percent", words.NO_CHARGE)
    else:
        teller.tell("recovered_percent", 100.0 * ethanol / charged, *rests)
    some = moles > 0.0
    if follower.dripping and some.mean() > 0.9:
        first, error = first_abv(s, frame, np.zeros_like(moles), moles)
        off = first + np.hypot(error, _MIXED_ABV) * _SPREAD
        values = frame.boiling.strength_abv(share) + off
        teller.strength("collected_abv", values[some], *rests)
    else:
        teller.cannot("collected_abv", words.NOTHING_RUNS)


def _rate(teller: Teller, frame: Frame) -> None:
    follower, now = teller.follower, teller.now
    s = follower.s
    if not follower.heating:
        teller.cannot("heat_w", words.NO_HEAT if follower.boiled else words.COLD)
    else:
        teller.tell("heat_w", np.exp(s[Row.LN_HEAT]), words.FROM_HEATING)
    boiling = untold.of_strengths(follower)
    if boiling is None and follower.dripping:
        latent = 1000.0 * raw_latent_kj_mol(now.y) / (1.0 - now.returned)
        latent = latent * np.exp(s[Row.LN_LATENT])
        warm = now.held_j_k / now.moles * frame.boiling.warming_k(now.seen) * (now.x - now.y)
        gone = np.maximum(now.net_w, 0.0) / (latent + np.maximum(warm, 0.0))
        litres = gone * frame.boiling.litres_mol(spout_share(s, now))
        if frame.sized:
            teller.tell("rate_ml_min", 60_000.0 * litres, words.FROM_HEATING)
        else:
            teller.cannot("rate_ml_min", words.NO_SIZE)
    else:
        teller.cannot("rate_ml_min", boiling or words.NOTHING_RUNS)
    if boiling is None:
        said = _mode(now) if follower.head_there else words.REFLUX_GUESSED
        teller.tell("reflux_ratio", now.returned / (1.0 - now.returned), said)
    else:
        teller.cannot("reflux_ratio", boiling)


def _beginning(teller: Teller) -> None:
    follower, now = teller.follower, teller.now
    why = None
    if not follower.heating:
        why = words.NO_MORE if follower.boiled else words.COLD
    elif follower.boils:
        why = words.BOILS
    elif follower.heated_s < _MIXED_S or not follower.steady:
        why = words.NOT_MIXED
    if why is None:
        seconds = seconds_to_boil(follower, now)
        if np.isfinite(seconds).mean() < 0.9:
            why = words.NEVER_BOILS
    if why is None:
        teller.tell("minutes_to_boil", seconds / 60.0, words.FROM_HEATING, _of_charge(follower))
    else:
        teller.cannot("minutes_to_boil", why)
    if follower.dripping:
        why = words.RUNS if follower.boils else words.NOT_BOILING
    elif follower.boils and follower.heating:
        why = None
    if why is None:
        drop = seconds_to_first_drop(follower, now) / 60.0
        teller.tell("minutes_to_first_drop", drop, words.FROM_HEATING)
    else:
        teller.cannot("minutes_to_first_drop", why)


def end_of(follower: Follower) -> tuple[float, float, str]:
    """Return the spout strength and the share left at which the run ends, in numbers and words."""
    run = follower.run
    if run.end_abv is None and run.end_left_share is None:
        return END_ABV, 0.0, words.END_ASSUMED.format(abv=END_ABV)
    said = []
    if run.end_abv is not None:
        said.append(words.END_BY_SPOUT.format(abv=run.end_abv))
    if run.end_left_share is not None:
        said.append(words.END_BY_LEFT.format(percent=100.0 * run.end_left_share))
    return run.end_abv or 0.0, run.end_left_share or 0.0, " or ".join(said)


def _why_no_end(follower: Follower) -> str | None:
    if follower.boiled and not follower.heating:
        return words.NO_MORE
    if not follower.heating:
        return words.COLD
    unknown = follower.run.charge_volume_l is None or follower.run.charge_abv is None
    if unknown and not follower.boiled:
        return words.NO_CHARGE
    return None


def _end(teller: Teller, ahead: Ahead) -> None:
    follower = teller.follower
    frame = follower.frame
    abv, left_share, said = end_of(follower)
    some = ahead.seconds.shape[0]
    left = np.exp(follower.s[Row.LN_ETHANOL, :some])
    charged = left + follower.s[Row.ETHANOL_OVER, :some]
    by_spout = crossing(ahead.spout_abv, abv)
    by_left = crossing(ahead.left_mol, charged * left_share)
    node = np.fmin(by_spout, by_left)
    known = np.isfinite(node)
    why = _why_no_end(follower)
    if why is None and (known.mean() < 0.9 or float(median(node[known])) <= 0.0):
        why = words.ENDED.format(end=said) if known.mean() >= 0.9 else words.ALL_GONE
    quantities = ("minutes_to_end", "end_collected_l", "end_collected_abv")
    if why is not None:
        for quantity in quantities:
            teller.cannot(quantity, why)
        return
    node = np.where(known, node, ahead.seconds.shape[1] - 1)
    wait = 0.0 if follower.dripping else seconds_to_first_drop(follower, teller.now)[:some]
    rests = (words.END.format(end=said), words.FROM_NOW, words.FROM_POT)
    seconds = ahead.at(ahead.seconds, node)
    if not follower.boiled:
        middle, error = TURNED_DOWN[frame.run.purpose in CUT_RUNS]
        seconds = seconds * np.exp(middle + error * np.random.default_rng(3).standard_normal(some))
    teller.tell("minutes_to_end", (seconds + wait) / 60.0, *rests)
    if frame.sized:
        teller.tell("end_collected_l", ahead.at(ahead.litres, node), *rests)
    else:
        teller.cannot("end_collected_l", words.NO_SIZE)
    ethanol, water = ahead.at(ahead.ethanol_mol, node), ahead.at(ahead.water_mol, node)
    share = np.clip(ethanol / np.maximum(ethanol + water, 1e-9), 0.0, 1.0)
    values = frame.boiling.strength_abv(share) + _MIXED_ABV * _SPREAD[:some]
    teller.strength("end_collected_abv", values, *rests)


def _jar(teller: Teller, ahead: Ahead) -> None:
    follower = teller.follower
    jar = follower.jar_under_spout()
    why = untold.of_strengths(follower) or (None if follower.dripping else words.NOTHING_RUNS)
    if jar is None or jar.holds_l is None:
        why = words.NO_JAR
    if why is not None or jar is None or jar.holds_l is None:
        teller.cannot("minutes_to_jar_full", why or words.NO_JAR)
        return
    some = ahead.seconds.shape[0]
    began = follower.litres_when_begun(jar)[:some]
    node = crossing(-ahead.litres, -(began + jar.holds_l))
    known = np.isfinite(node)
    if known.mean() < 0.9 or float(median(node[known])) <= 0.0:
        why = words.JAR_FULL if known.mean() >= 0.9 else words.ALL_GONE
        teller.cannot("minutes_to_jar_full", why)
        return
    node = np.where(np.isfinite(node), node, ahead.seconds.shape[1] - 1)
    teller.tell("minutes_to_jar_full", ahead.at(ahead.seconds, node) / 60.0, words.FROM_NOW)


def _cooling(teller: Teller) -> None:
    follower = teller.follower
    pot_c = follower.pot_c
    if follower.heating:
        teller.cannot("minutes_to_pot_below_50_c", words.HEAT_ON)
    elif pot_c is None:
        teller.cannot("minutes_to_pot_below_50_c", words.NO_POT)
    elif pot_c < COOL_C:
        teller.cannot("minutes_to_pot_below_50_c", words.COOL_ALREADY)
    else:
        seconds = seconds_to_cool(follower, teller.now, COOL_C)
        teller.tell("minutes_to_pot_below_50_c", seconds / 60.0, words.FROM_HEATING, narrows=False)
