"""A stretch that nobody read: how long a run went on in it, by where the pot is found.

A still that is unread for long may have boiled all the time, or stood without heat like what read
it. Each member goes on until its own pot is as hot as the pot is found, or the stretch is over. As
long as vapour fills the head that tells the run's position, whatever the clock says; a pot that is
found without says little: half the members stood at once, as a failure of the power stops still and
readings alike, the others at any moment of the stretch (common practice, no source). Once it boils
again, those stay whose pot boils as hot as it is seen to.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from api.estimates.still.members import MEMBERS, Chance, Frame, Row
from api.estimates.still.motion import Air, advance, boils_c, drift
from calc.quantities import FloatArray

UNSEEN_S: Final = 900  # a shorter stretch, and the run is taken to have gone on
LONGEST_S: Final = 86_400.0  # that a pot boils before it is dry
_PART_S: Final = 60.0
NOISE_K: Final = 0.2  # of a pot's reading, with what it shares with its neighbours
_NEAR_K: Final = 0.3  # of the boiling point that is seen; as far as it takes to keep some
_KEPT: Final = 30.0  # members, as many as evenly weighed ones would be


@dataclass(frozen=True, slots=True)
class Found:
    """How the pot is found: as its probe shows it, and whether vapour fills the head."""

    pot_c: float
    vapour: bool


def go_unseen(
    s: FloatArray, frame: Frame, chance: Chance, air: Air, dt_s: float, found: Found
) -> None:
    """Let the members go on under heat for as much of a stretch as fits how the pot is found."""
    most_s = min(dt_s, LONGEST_S)
    least_s = np.zeros(MEMBERS) if found.vapour else most_s * _shares(chance)
    shown_c = found.pot_c - s[Row.POT_PROBE_K] - chance.noise(NOISE_K)
    _boil_to(s, frame, air, shown_c, least_s, most_s)
    drift(s, frame, chance, most_s / 60.0)
    if not found.vapour:
        s[Row.POT_C] = np.minimum(shown_c, boils_c(s, frame, air))


def boils_again(
    s: FloatArray, frame: Frame, chance: Chance, air: Air, since_s: float, pot_c: float
) -> None:
    """Let those go on that boil cooler than is seen; keep the members that boil nearest to it."""
    shown_c = pot_c - s[Row.POT_PROBE_K]
    s[Row.POT_C] = boils_c(s, frame, air)
    _boil_to(s, frame, air, shown_c, np.zeros(MEMBERS), min(since_s, LONGEST_S))
    boils = boils_c(s, frame, air)
    off_k, near_k = np.abs(boils - shown_c), _NEAR_K
    share = _weighed(off_k, near_k)
    while 1.0 / float((share**2).sum()) < _KEPT:
        near_k *= 1.5
        share = _weighed(off_k, near_k)
    s[Row.POT_C] = boils
    s[:] = s[:, chance.dice.choice(MEMBERS, MEMBERS, p=share)]


def _boil_to(
    s: FloatArray, frame: Frame, air: Air, shown_c: FloatArray, least_s: FloatArray, most_s: float
) -> None:
    """Let each member go on for its least, and until it is as hot as is shown or the time is up."""
    gone_s = 0.0
    while gone_s < most_s:
        stands = (s[Row.POT_C] >= shown_c) & (gone_s >= least_s)
        if stands.all():
            break
        stood = s[:, stands]
        advance(s, frame, air, min(most_s - gone_s, _PART_S))
        s[:, stands] = stood
        gone_s += _PART_S


def _weighed(off_k: FloatArray, near_k: float) -> FloatArray:
    weight = np.exp(-0.5 * ((off_k - off_k.min()) / near_k) ** 2)
    share: FloatArray = weight / weight.sum()
    return share


def _shares(chance: Chance) -> FloatArray:
    """Draw for how much of it the heat was on, where nothing tells."""
    return np.maximum(2.0 * chance.dice.random(MEMBERS) - 1.0, 0.0)
