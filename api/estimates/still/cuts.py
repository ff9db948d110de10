"""Expected hearts, and a hint that tails are near: advice, from the balance and past runs.

`tails_near` is the probability, in per cent, that the spout falls to where tails begin within the
next `JARS_AHEAD` jars; 100 once it has. `hearts_l` is the volume of hearts of the whole run, at
20 °C and at the strength it comes off with.
"""

from dataclasses import dataclass
from statistics import mean, pstdev
from typing import TYPE_CHECKING, Final

import numpy as np

from api.estimates.still import words
from api.estimates.still.ahead import Ahead, crossing
from api.estimates.still.members import MEMBERS, Row
from calc.arrays import median
from calc.quantities import FloatArray

if TYPE_CHECKING:
    from api.estimates.still.following import Follower
    from api.estimates.still.telling import Teller

CUT_RUNS: Final = ("spirit", "single", "botanical", "feints")
TAILS_ABV: Final = 60.0  # of a pot still's hearts, Russell, Whisky (2003), chapter 5
HEARTS_FROM_SHARE: Final = 0.115  # foreshots and heads: 1 to 2 and 5 to 15 %, common practice
JARS_AHEAD: Final = 1.5
_JARS_OF_A_RUN: Final = 12.0
_STILL_UNKNOWN: Final = 0.5  # of an error then: what came since told the rest; seeds 21 to 40
_SPREAD: Final = np.random.default_rng(13).standard_normal(MEMBERS)


def tell_cuts(teller: "Teller", ahead: Ahead) -> None:
    """Tell both, of a run that is cut."""
    follower = teller.follower
    why = None
    if follower.run.purpose not in CUT_RUNS:
        why = words.NOT_SPIRIT
    elif not follower.dripping:
        why = words.NOTHING_RUNS
    elif not follower.frame.sized:
        why = words.NO_SIZE
    if why is not None:
        teller.cannot("hearts_l", why)
        teller.cannot("tails_near", why)
        return
    tails = _tails(follower)
    some = ahead.seconds.shape[0]
    s = follower.s[:, :some]
    charged = np.exp(s[Row.LN_ETHANOL]) + s[Row.ETHANOL_OVER]
    if tails.abv is not None:
        node, ended = crossing(ahead.spout_abv, tails.abv), follower.litres_at_abv(tails.abv)
    else:
        node = crossing(-ahead.ethanol_mol, -charged * tails.share)
        ended = follower.litres_at_share(tails.share)
    said = tails.said
    at = np.where(np.isfinite(node), node, ahead.seconds.shape[1] - 1.0)
    litres = ahead.at(ahead.litres, at)
    began = follower.litres_at_share(_hearts_from(follower))
    # What is past is known as well as what has been collected is.
    scale = ahead.litres[:, 0] / max(float(median(ahead.litres[:, 0])), 1e-9)
    if ended is not None:
        litres = ended.value * scale + _STILL_UNKNOWN * ended.error * _SPREAD[:some]
    # Of where they began, the jars since have told more than was known then.
    start = _litres_at_start(follower, ahead) if began is None else began.value * scale
    teller.tell("hearts_l", np.maximum(litres - start, 0.0), said, words.FROM_NOW)
    ahead_l = JARS_AHEAD * small_jar_l(follower)
    near = np.where(np.isfinite(node), ahead.at(ahead.litres, at) - ahead.litres[:, 0], np.inf)
    percent = 100.0 * float((near <= ahead_l).mean())
    spread = 100.0 * (0.25 / some) ** 0.5
    values = np.clip(percent + spread * np.linspace(-2.0, 2.0, 41), 0.0, 100.0)
    tried = words.HINT_TRIED.format(jars=JARS_AHEAD)
    begun = None if ended is None else words.TAILS_BEGUN
    teller.tell("tails_near", values, said, tried, why=begun)


def small_jar_l(follower: "Follower") -> float:
    """Return the size of a small jar: as those of this run, or a twelfth of the spirit."""
    sizes = [
        jar.holds_l or (jar.volume_l.value if jar.volume_l else None) for jar in follower.run.jars
    ]
    known = [size for size in sizes if size]
    if known:
        return float(median(known))
    s = follower.s
    pure = float(median(np.exp(s[Row.LN_ETHANOL]) + s[Row.ETHANOL_OVER])) * 0.0584
    return pure / _JARS_OF_A_RUN


@dataclass(frozen=True, slots=True)
class _Tails:
    """Where tails begin: at a spout strength, or when a share of the alcohol is over."""

    abv: float | None
    share: float
    said: str


def _tails(follower: "Follower") -> _Tails:
    past = follower.run.past
    by_abv = [run.tails_from_abv for run in past if run.tails_from_abv is not None]
    if by_abv:
        return _Tails(mean(by_abv), 1.0, words.FROM_OWN_TAILS.format(abv=mean(by_abv)))
    by_share = [run.tails_from_share for run in past if run.tails_from_share is not None]
    if not by_share:
        by_share = [
            run.hearts_from_share + run.hearts_share
            for run in past
            if run.hearts_from_share is not None and run.hearts_share is not None
        ]
    if by_share:
        share = min(mean(by_share), 1.0)
        return _Tails(None, share, words.FROM_OWN_SHARE.format(percent=100.0 * share))
    return _Tails(TAILS_ABV, 1.0, words.FROM_PRACTICE.format(abv=TAILS_ABV))


def _hearts_from(follower: "Follower") -> float:
    past = follower.run.past
    known = [run.hearts_from_share for run in past if run.hearts_from_share is not None]
    return mean(known) if known else HEARTS_FROM_SHARE


def _litres_at_start(follower: "Follower", ahead: Ahead) -> FloatArray:
    past = follower.run.past
    known = [run.hearts_from_share for run in past if run.hearts_from_share is not None]
    some = ahead.seconds.shape[0]
    error = max(pstdev(known), 0.01) if len(known) > 1 else 0.03
    share = np.maximum(_hearts_from(follower) + error * np.linspace(-2.0, 2.0, some), 0.01)
    s = follower.s[:, :some]
    charged = np.exp(s[Row.LN_ETHANOL]) + s[Row.ETHANOL_OVER]
    node = crossing(-ahead.ethanol_mol, -charged * share)
    return ahead.at(ahead.litres, np.where(np.isfinite(node), node, 0.0))
