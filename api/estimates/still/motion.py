"""How the members go on: a block of time, heating or boiling, by the differential balance."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from api.estimates.still.members import Chance, Frame, Row
from calc.quantities import FloatArray
from calc.run_balance import boil_off_mol_s, logit, unlogit

EBULLIOSCOPIC_K_KG_MOL: Final = 0.512  # of water; handbook value, from memory
WATER_KG_MOL: Final = 0.018015
_LONGEST_S: Final = 60.0
RICHEST_LOGIT: Final = 2.9  # some 97 % vol, beyond any azeotrope
_PROBE_K_H: Final = 0.02
_WATER_C: Final = 15.0  # of cooling water, about
_REFLUX_AT_C: Final = 80.0
_MOST_RETURNED: Final = 0.97
_LEAST_HOT: Final = 0.1
# How far unknowns drift within a minute, one standard deviation; powers as the square root of time.
_DRIFT: Final = {
    Row.REFLUX: 0.02, Row.POT_C: 0.05, Row.DILUTE_OFF: 0.0015, Row.RICH_OFF: 0.0015,
    Row.VAPOUR_OFF: 0.0015,
}  # fmt: skip
_HEAT: Final = (0.015, 0.004)  # as nobody marks it, and as somebody does
# Of the loss, as the pot cools: what still boils, runs down and warms at first, and a room that
# changes, are no loss of the pot's, but look like it. Seeds 101 to 108.
_COOLING_LOSS: Final = 0.005
_REFLUX: Final = 0.05  # where it is turned by hand
COLUMN_OFF: Final = (0.02, 0.1)  # as a pot still, and under reflux; seeds 15 to 22
# Of first runnings, as much as stands in the column, and its error, % vol; on simulated runs, seeds
# 1 to 16.
_FIRST_ABV: Final = (3.0, 3.0)
_COLUMN_FORGETS_MIN: Final = 40.0


@dataclass(frozen=True, slots=True)
class Air:
    """What is around the still, and whether it is heated."""

    hpa: float
    room_c: float = 20.0
    heat_on: bool = True


@dataclass(frozen=True, slots=True)
class Look:
    """What the members' states mean now."""

    x: FloatArray  # in the pot
    seen: FloatArray  # the liquid of the tables that boils like it
    moles: FloatArray
    over_hpa: FloatArray  # above the tables' pressure
    boils_c: FloatArray
    top: FloatArray  # logit of the vapour that reaches the head
    y: FloatArray
    returned: FloatArray
    held_j_k: FloatArray
    net_w: FloatArray  # that reach the charge and do not go on to the room
    boiling: FloatArray  # truth values


def look(s: FloatArray, frame: Frame, air: Air) -> Look:
    """Work out what follows from the rows."""
    pot = _pot_of(s, frame, air)
    top, returned = top_of(s, frame, pot.seen)
    held_mol = frame.boiling.held_j_mol_k(pot.x) * np.exp(s[Row.LN_HELD])
    return Look(
        x=pot.x,
        seen=pot.seen,
        moles=pot.moles,
        over_hpa=pot.over_hpa,
        boils_c=pot.boils_c,
        top=top,
        y=unlogit(top),
        returned=returned,
        held_j_k=pot.moles * held_mol + np.exp(s[Row.LN_METAL]),
        net_w=pot.net_w,
        boiling=s[Row.POT_C] >= pot.boils_c - 0.01,
    )


def boils_c(s: FloatArray, frame: Frame, air: Air) -> FloatArray:
    """At what the members' pots boil now: a part of `look`, at a third of its cost."""
    return _pot_of(s, frame, air).boils_c


@dataclass(frozen=True, slots=True)
class _Pot:
    """What the column has no part in."""

    x: FloatArray
    seen: FloatArray
    moles: FloatArray
    over_hpa: FloatArray
    boils_c: FloatArray
    net_w: FloatArray


def _pot_of(s: FloatArray, frame: Frame, air: Air) -> _Pot:
    ethanol, water = np.exp(s[Row.LN_ETHANOL]), np.exp(s[Row.LN_WATER])
    moles = ethanol + water
    x = ethanol / moles
    seen = np.minimum(x * np.exp(equilibrium_off(s, x)), 0.85)
    loss = np.exp(s[Row.LN_LOSS]) * (s[Row.POT_C] - air.room_c)
    net = np.exp(s[Row.LN_HEAT]) * air.heat_on - loss
    # The way out resists by the square of what flows.
    gauge = np.exp(s[Row.LN_GAUGE]) * np.clip(net / frame.usual_w, 0.0, 3.0) ** 2
    over = air.hpa + s[Row.BAROMETER_HPA] + gauge - frame.boiling.hpa
    solids_k = EBULLIOSCOPIC_K_KG_MOL * np.exp(s[Row.LN_SOLIDS]) / (water * WATER_KG_MOL)
    boils = frame.boiling.temperature_c(seen, over) + solids_k
    return _Pot(x, seen, moles, over, boils, net)


def top_of(
    s: FloatArray, frame: Frame, seen: FloatArray, column_off: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Return the logit of the vapour at the top, and the share of the vapour that comes back.

    A reflux condenser takes the more, the hotter the vapour is beside its water, by the power
    `Row.HOTTER`; `Row.REFLUX` is told at 80 °C. What the column gives beside its table is as now
    unless it is given.
    """
    plates = np.broadcast_to(s[Row.PLATES], seen.shape)
    reflux = np.broadcast_to(s[Row.REFLUX], seen.shape)
    off = s[Row.COLUMN_OFF] if column_off is None else column_off
    beside = off + s[Row.VAPOUR_OFF]
    top = np.minimum(frame.column.top(seen, plates, reflux) + beside, RICHEST_LOGIT)
    returned = unlogit(reflux)
    if frame.reflux:
        head_c = frame.boiling.temperature_c(frame.boiling.liquid_under(unlogit(top)))
        hotter = np.maximum((head_c - _WATER_C) / (_REFLUX_AT_C - _WATER_C), _LEAST_HOT)
        returned = np.minimum(returned * hotter ** s[Row.HOTTER], _MOST_RETURNED)
        top = frame.column.top(seen, plates, logit(returned)) + beside
    return np.minimum(top, RICHEST_LOGIT), returned


def held_share(frame: Frame, x: FloatArray, y: FloatArray) -> FloatArray:
    """Return the ethanol's share of what stands between pot and receiver."""
    under = frame.boiling.liquid_under(np.minimum(y, 0.88))
    share: FloatArray = 0.25 * y + 0.375 * (x + under)
    return share


def equilibrium_off(s: FloatArray, x: FloatArray) -> FloatArray:
    """How far the published equilibrium is off, in ln x: from dilute to rich."""
    rich = np.clip(np.log(np.maximum(x, 1e-6) / 0.01) / np.log(0.3 / 0.01), 0.0, 1.0)
    off: FloatArray = s[Row.DILUTE_OFF] + rich * (s[Row.RICH_OFF] - s[Row.DILUTE_OFF])
    return off


def held_up(s: FloatArray, frame: Frame, now: Look) -> tuple[FloatArray, FloatArray]:
    """Moles between pot and receiver, and the ethanol's share of them."""
    over = s[Row.ETHANOL_OVER] + s[Row.WATER_OVER]
    held = np.minimum(np.maximum(over, 0.0), np.exp(s[Row.LN_FILL]))
    return held, held_share(frame, now.x, now.y)


def collected(s: FloatArray, frame: Frame, now: Look) -> tuple[FloatArray, FloatArray]:
    """Moles of ethanol and water in the receivers."""
    held, share = held_up(s, frame, now)
    filling = held < np.exp(s[Row.LN_FILL]) - 1e-9
    ethanol = np.where(filling, 0.0, np.maximum(s[Row.ETHANOL_OVER] - held * share, 0.0))
    water = np.where(filling, 0.0, np.maximum(s[Row.WATER_OVER] - held * (1 - share), 0.0))
    return ethanol, water


def first_abv(
    s: FloatArray, frame: Frame, before: FloatArray, after: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """How much stronger than by the balance what came over between two amounts is, and its error.

    While a column warms, all that condenses in it runs back, so its first runnings are stronger.
    """
    fill = np.exp(s[Row.LN_FILL])
    part = fill * fill / ((fill + before) * (fill + after)) * frame.still.has_reflux
    return _FIRST_ABV[0] * part, _FIRST_ABV[1] * part


def go_on(s: FloatArray, frame: Frame, chance: Chance, air: Air, dt_s: float) -> None:
    """Let the members go on for some time, heating, boiling or cooling."""
    left = dt_s
    while left > 0.0:
        part = min(left, _LONGEST_S)
        advance(s, frame, air, part)
        left -= part
    if air.heat_on:
        drift(s, frame, chance, dt_s / 60.0)
    else:
        s[Row.LN_LOSS] += chance.noise(_COOLING_LOSS * (dt_s / 60.0) ** 0.5)


def advance(s: FloatArray, frame: Frame, air: Air, dt_s: float) -> None:
    """Let the members go on for up to a minute, with nothing changing that may change."""
    now = look(s, frame, air)
    after_c = s[Row.POT_C] + now.net_w * dt_s / now.held_j_k
    spare_w = np.maximum(after_c - now.boils_c, 0.0) * now.held_j_k / dt_s
    s[Row.POT_C] = np.minimum(after_c, now.boils_c)
    warming = frame.boiling.warming_k(now.seen)
    latent = np.exp(s[Row.LN_LATENT])
    held = now.held_j_k / now.moles / latent
    spare = spare_w / latent
    gone = boil_off_mol_s(spare, now.x, now.y, now.returned, held, warming) * dt_s
    over = s[Row.ETHANOL_OVER] + s[Row.WATER_OVER]
    filling = over < np.exp(s[Row.LN_FILL])
    share = np.where(filling, held_share(frame, now.x, now.y), now.y) if filling.any() else now.y
    ethanol = np.exp(s[Row.LN_ETHANOL])
    of_ethanol = np.minimum(gone * share, 0.5 * ethanol)
    of_water = np.minimum(gone * (1.0 - share), 0.3 * (now.moles - ethanol))
    s[Row.LN_ETHANOL] = np.log(ethanol - of_ethanol)
    s[Row.LN_WATER] = np.log(now.moles - ethanol - of_water)
    s[Row.ETHANOL_OVER] += of_ethanol
    s[Row.WATER_OVER] += of_water
    if gone.any():  # the pot grows hotter as it grows weaker
        s[Row.POT_C] = np.where(gone > 0.0, boils_c(s, frame, air), s[Row.POT_C])


def drift(s: FloatArray, frame: Frame, chance: Chance, minutes: float) -> None:
    """Let what may change change."""
    root = minutes**0.5
    for row, error in _DRIFT.items():
        s[row] += chance.noise(error * root)
    s[Row.LN_HEAT] += chance.noise(_HEAT[bool(frame.run.powers_w)] * root)
    if frame.reflux:
        s[Row.REFLUX] += chance.noise(_REFLUX * root)
    keep = float(np.exp(-minutes / _COLUMN_FORGETS_MIN))
    wide = COLUMN_OFF[frame.reflux]
    s[Row.COLUMN_OFF] *= keep
    s[Row.COLUMN_OFF] += chance.noise(wide * (1.0 - keep * keep) ** 0.5)
    for row in (Row.POT_PROBE_K, Row.HEAD_PROBE_K):
        s[row] += chance.noise(_PROBE_K_H * (minutes / 60.0) ** 0.5)
    s[Row.PLATES] = np.clip(s[Row.PLATES], 0.0, 8.0)


def head_c(s: FloatArray, frame: Frame, now: Look) -> FloatArray:
    """Return what the head's probe shows, by each member."""
    seen = frame.boiling.liquid_under(unlogit(now.top - s[Row.VAPOUR_OFF]))
    shown: FloatArray = frame.boiling.temperature_c(seen, now.over_hpa) + s[Row.HEAD_PROBE_K]
    return shown


def spout_share(s: FloatArray, now: Look) -> FloatArray:
    """Mole fraction of ethanol at the spout, by each member."""
    share: FloatArray = unlogit(np.minimum(now.top + s[Row.ARM], RICHEST_LOGIT))
    return share
