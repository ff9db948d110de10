"""Where the members are going: the rest of the run at the heat and reflux they have now."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from api.estimates.still.following import Follower
from api.estimates.still.members import MEMBERS, Frame, Row
from api.estimates.still.motion import COLUMN_OFF, Air, Look, equilibrium_off, held_share, top_of
from calc.arrays import median
from calc.heat import raw_latent_kj_mol
from calc.quantities import FloatArray
from calc.run_balance import unlogit

_SOME: Final = 120  # of the members are enough to look ahead with
_NODES: Final = 48
_DEEPEST_X: Final = 5e-5  # some 0.02 % vol in the pot
_UNSTEADY: Final = 0.03  # of a time ahead: heat and reflux do not stay as they are


@dataclass(frozen=True, slots=True)
class Ahead:
    """The rest of a run: a row a member, a column a node; the first column is now."""

    seconds: FloatArray
    spout_abv: FloatArray
    left_mol: FloatArray  # of ethanol, in the pot
    ethanol_mol: FloatArray  # collected by then
    water_mol: FloatArray
    litres: FloatArray  # collected by then

    def at(self, values: FloatArray, node: FloatArray) -> FloatArray:
        """Return values part of the way between nodes."""
        below = np.clip(node.astype(int), 0, values.shape[1] - 2)
        part = node - below
        which = np.arange(values.shape[0])
        found: FloatArray = values[which, below] * (1 - part) + values[which, below + 1] * part
        return found


def crossing(values: FloatArray, limit: FloatArray | float) -> FloatArray:
    """Return at which node, with its fraction, falling values reach a limit; NaN where never."""
    limits = np.broadcast_to(np.asarray(limit, dtype=float), values.shape[:1])[:, None]
    under = values <= limits
    node = under.argmax(axis=1)
    which = np.arange(values.shape[0])
    before = np.maximum(node - 1, 0)
    high, low = values[which, before], values[which, node]
    part = np.where(high > low, (high - limits[:, 0]) / np.maximum(high - low, 1e-12), 0.0)
    found = np.where(node > 0, before + np.clip(part, 0.0, 1.0), 0.0)
    return np.where(under.any(axis=1), found, np.nan)


def look_ahead(follower: Follower, now: Look, over: tuple[FloatArray, FloatArray]) -> Ahead:
    """Boil some of the members down to next to nothing; `over` is what they have collected."""
    frame = follower.frame
    s = follower.s[:, :_SOME]
    start = now.x[:_SOME]
    depth = np.linspace(0.0, 1.0, _NODES)[None, :]
    x = start[:, None] * (np.minimum(_DEEPEST_X / start, 0.5)[:, None] ** depth)
    seen = np.minimum(x * np.exp(equilibrium_off(s[:, :, None], x)), 0.85)
    column_off = _column_off(s, frame, 1.0 - x / start[:, None])
    top, returned = top_of(s[:, :, None], frame, seen, column_off)
    y = unlogit(top)
    moles = left(now.moles[:_SOME], x, y)
    seconds = _seconds(s, frame, follower.air, (moles, x, y, returned))
    ethanol = over[0][:_SOME, None] + (moles * x)[:, :1] - moles * x
    water = over[1][:_SOME, None] + (moles * (1 - x))[:, :1] - moles * (1 - x)
    if follower.dripping:  # what stands above the pot grows weaker, and gives that up
        gone = s[Row.ETHANOL_OVER] + s[Row.WATER_OVER]
        held = np.minimum(np.exp(s[Row.LN_FILL]), gone)
        share = held_share(frame, x[:, 0], y[:, 0])
        given = held[:, None] * (share[:, None] - held_share(frame, x, y))
        ethanol, water = ethanol + given, water - given
    both = np.maximum(ethanol + water, 1e-9)
    litres = both * frame.boiling.litres_mol(np.clip(ethanol / both, 0.0, 1.0))
    spout = frame.boiling.strength_abv(unlogit(top + s[Row.ARM][:, None]))
    return Ahead(seconds, spout, moles * x, ethanol, water, litres)


def _column_off(s: FloatArray, frame: Frame, gone: FloatArray) -> FloatArray:
    """Say what the column gives beside its table when so much of the pot's strength is gone.

    What it gives now is forgotten, and what it will give is not known: the table's column, with
    plates that stay the same and hold nothing, is not this one.
    """
    wide = COLUMN_OFF[frame.reflux]
    off: FloatArray = s[Row.COLUMN_OFF][:, None] * (1.0 - gone) + wide * np.sqrt(gone) * _OFFS
    return off


def left(moles: FloatArray, x: FloatArray, y: FloatArray) -> FloatArray:
    """Rayleigh's equation along the nodes, by the trapezium rule in ln x."""
    slope = x / np.maximum(y - x, 1e-4)
    step = np.diff(np.log(x), axis=1) * (slope[:, 1:] + slope[:, :-1]) / 2.0
    log_left = np.concatenate([np.zeros((len(x), 1)), np.cumsum(step, axis=1)], axis=1)
    left: FloatArray = moles[:, None] * np.exp(log_left)
    return left


def _seconds(s: FloatArray, frame: Frame, air: Air, way: tuple[FloatArray, ...]) -> FloatArray:
    """Return the time each node takes at the heat there is."""
    moles, x, y, returned = way
    heat_w = np.exp(s[Row.LN_HEAT])[:, None]
    boils = frame.boiling.temperature_c(x)
    net = heat_w - np.exp(s[Row.LN_LOSS])[:, None] * (boils - air.room_c)
    net = np.maximum(net, 0.02 * heat_w)
    latent = 1000.0 * raw_latent_kj_mol(y) / (1.0 - returned) * np.exp(s[Row.LN_LATENT])[:, None]
    held = moles * frame.boiling.held_j_mol_k(x) * np.exp(s[Row.LN_HELD])[:, None]
    held += np.exp(s[Row.LN_METAL])[:, None]
    joules = (
        -np.diff(moles, axis=1) * (latent[:, 1:] + latent[:, :-1]) / 2.0
        + np.diff(boils, axis=1) * (held[:, 1:] + held[:, :-1]) / 2.0
    )
    taken = joules / ((net[:, 1:] + net[:, :-1]) / 2.0)
    seconds = np.concatenate([np.zeros((len(x), 1)), np.cumsum(taken, axis=1)], axis=1)
    steady: FloatArray = seconds * np.exp(_UNSTEADY * _WAVES)[:, None]
    return steady


# One draw a member, the same at every look, so that times ahead do not dance.
_WAVES: Final = np.random.default_rng(7).standard_normal(MEMBERS)[:_SOME]
# By how much the room is another in the hours it takes: common practice, no source.
_ROOM_K, _ROOM_H = 1.5, 6.0
_ROOMS: Final = np.random.default_rng(17).standard_normal(MEMBERS)
_OFFS: Final = np.random.default_rng(11).standard_normal(_SOME)[:, None]


def seconds_to_boil(follower: Follower, now: Look) -> FloatArray:
    """How long each member takes to boil; infinite where its losses grow to the heat first."""
    s = follower.s
    rise = np.maximum(now.boils_c - s[Row.POT_C], 0.0)
    loss = np.exp(s[Row.LN_LOSS])
    share = np.clip(loss * rise / np.maximum(now.net_w, 1e-9), 0.0, 0.999999)
    lossless: FloatArray = now.held_j_k * rise / np.maximum(now.net_w, 1e-9)
    taken: FloatArray = lossless * np.where(
        share > 1e-6, -np.log1p(-share) / np.maximum(share, 1e-9), 1.0
    )
    found: FloatArray = np.where(now.net_w > 0.0, taken, np.inf)
    return found


def seconds_to_first_drop(follower: Follower, now: Look) -> FloatArray:
    """How long each member takes to fill what stands between pot and receiver."""
    s = follower.s
    to_boil = seconds_to_boil(follower, now)
    loss_w = np.exp(s[Row.LN_LOSS]) * (now.boils_c - follower.air.room_c)
    net = np.maximum(np.exp(s[Row.LN_HEAT]) - loss_w, 1.0)
    wanting = np.exp(s[Row.LN_FILL]) - s[Row.ETHANOL_OVER] - s[Row.WATER_OVER]
    rate = net * (1.0 - now.returned) / (1000.0 * raw_latent_kj_mol(now.y))
    found: FloatArray = to_boil + np.maximum(wanting, 0.0) / np.maximum(rate, 1e-6)
    return found


def seconds_to_cool(follower: Follower, now: Look, to_c: float) -> FloatArray:
    """How long each member's pot takes to fall to a temperature with the heat off."""
    s = follower.s
    scale_s = now.held_j_k / np.exp(s[Row.LN_LOSS])

    def seconds(room_c: FloatArray | float) -> FloatArray:
        above = np.maximum(s[Row.POT_C] - room_c, 0.1) / np.maximum(to_c - room_c, 0.1)
        return np.asarray(scale_s * np.log(np.maximum(above, 1.0)))

    room_c = follower.air.room_c
    hours = float(median(seconds(room_c))) / 3600.0
    return seconds(room_c + _ROOM_K * min(hours / _ROOM_H, 1.0) ** 0.5 * _ROOMS)
