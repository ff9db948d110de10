"""What a ferment might be before anything has been read of it: from vessel, wash and record."""

from collections.abc import Mapping
from functools import lru_cache
from math import log, sqrt
from typing import Final, get_args

import numpy as np
from numpy.random import Generator

from api.estimates.ferment.members import MEMBERS, Members, Row
from api.estimates.ground import FermentGround, Measured, ProbeGround
from calc.ferment_balance import Wrapping, alcohol_per_fall, wall_m2, wall_w_m2_k
from calc.ferment_heat import WASH_KJ_L_K
from calc.ferment_pace import TOO_HOT_C
from calc.materials import Material
from calc.potential import FINAL_GRAVITIES
from calc.sugar_wash import complete_sg

# Where nobody has said: common practice, no source. Means and standard errors.
ORIGINALS: Final[Mapping[str, Measured]] = {
    "grain": Measured(1.060, 0.012),
    "sugar": Measured(1.070, 0.018),
    "fruit": Measured(1.055, 0.012),
    "molasses": Measured(1.075, 0.015),
}
ANY_ORIGINAL: Final = Measured(1.063, 0.016)
FILLED: Final = 0.65  # of a vessel
UNWRAPPED: Final = frozenset({"", "none", "bare", "no", "nothing"})
BARE_ERROR, WRAPPED_ERROR, UNKNOWN_ERROR, DECLARED_ERROR = 0.3, 0.4, 0.5, 0.12
HEAT_SHARE, HEAT_ERROR = 0.97, 0.03  # the gas carries some off (calc.fermentation)
READY, READY_ERROR = -2.0, 1.0  # logit, at pitching
LATE_SHARE: Final = (-1.9, 0.75)  # logit, of what enzymes set free as a wash of grain ferments
UNPITCHED: Final = (-3.0, 2.0)  # at the beginning of a ferment whose pitching nobody wrote down
ABOVE_STANDS_K, TOO_HOT_ERROR_C = 3.0, 1.0
ORIGINAL_RANGE: Final = (1.010, 1.17)
BALLING_RANGE: Final = (1.020, 1.125)


def drawn(ground: FermentGround, probes: Mapping[str, ProbeGround], chance: Generator) -> Members:
    """Draw the ensemble."""
    noise = chance.standard_normal((len(Row), MEMBERS))
    noise -= noise.mean(axis=1, keepdims=True)
    noise /= noise.std(axis=1, keepdims=True)
    members = np.zeros((len(Row), MEMBERS))
    for row, (mean, error) in _moments(ground, probes).items():
        members[row] = mean + error * noise[row]
    original, final = _gravities(ground, noise)
    members[Row.ORIGINAL] = original
    members[Row.FALL] = np.maximum(original - final, 0.004)
    members[Row.LOSS] += (members[Row.VOLUME] - members[Row.VOLUME].mean()) * (2.0 / 3.0)
    return members


def _moments(
    ground: FermentGround, probes: Mapping[str, ProbeGround]
) -> dict[Row, tuple[float, float]]:
    volume_l, volume_error = _volume(ground)
    thick = ground.on_grain if ground.on_grain is not None else ground.kind_of_wash != "sugar"
    grain = ground.kind_of_wash in {"grain", "fruit", None, "other"}
    return {
        Row.VOLUME: (log(volume_l), volume_error),
        Row.LOSS: _loss(ground, volume_l),
        Row.CAPACITY: (log(WASH_KJ_L_K * (1.04 if thick else 1.01)), 0.04 if thick else 0.03),
        Row.HEAT: (log(HEAT_SHARE), HEAT_ERROR),
        Row.ALCOHOL: _alcohol(ground),
        Row.OFFSET: (0.0, _error(probes, "ferment")),
        Row.ROOM_OFFSET: (0.0, _error(probes, "room")),
        Row.READY: (READY, READY_ERROR) if ground.pitched_slot is not None else UNPITCHED,
        Row.FASTEST: (log(0.06), 0.55),
        Row.GROWTH: (log(0.13), 0.5),
        Row.WANTS: (log(0.08), 0.9),
        Row.SLOWED: (0.0, 1.2),
        Row.PER_KELVIN: (0.07, 0.03),
        Row.TOO_HOT: _too_hot_c(ground),
        Row.LATE_SHARE: LATE_SHARE if grain else (-4.0, 0.8),
        Row.LATE_PACE: (log(0.03), 0.5),
        Row.LAG: (log(0.1), 1.2) if thick else (log(0.04), 0.7),
    }


def _error(probes: Mapping[str, ProbeGround], place: str) -> float:
    return probes.get(place, ProbeGround()).error_c


def _volume(ground: FermentGround) -> tuple[float, float]:
    if ground.volume_l:  # nothing, and none at all, are both no help
        return ground.volume_l, 0.03
    if ground.vessel_volume_l:
        return FILLED * ground.vessel_volume_l, 0.25
    return 100.0, 1.0


def _too_hot_c(ground: FermentGround) -> tuple[float, float]:
    """Give where half of the yeast's pace is gone: some kelvin above what it is said to stand."""
    if ground.yeast_max_c is None:
        return TOO_HOT_C, TOO_HOT_ERROR_C
    return ground.yeast_max_c + ABOVE_STANDS_K, TOO_HOT_ERROR_C


def _loss(ground: FermentGround, volume_l: float) -> tuple[float, float]:
    """Give the vessel's loss as the logarithm of W/K: declared, or from its size and wall."""
    if ground.loss_w_per_k:
        return log(ground.loss_w_per_k), DECLARED_ERROR
    m2 = wall_m2(max(volume_l, ground.vessel_volume_l or 0.0) ** 0.5 * volume_l**0.5)
    named = next((one for one in get_args(Material) if one == ground.material), None)

    def through(wrapping: Wrapping) -> float:
        return log(wall_w_m2_k(named, wrapping) * m2)

    if ground.insulation is None:
        return (through("bare") + through("insulated")) / 2.0, UNKNOWN_ERROR
    if ground.insulation.strip().lower() in UNWRAPPED:
        return through("bare"), BARE_ERROR
    return through("insulated"), WRAPPED_ERROR


def original_of(ground: FermentGround) -> Measured:
    """Give the gravity it began at, or what washes of its kind begin at."""
    if ground.original_sg is not None:
        return ground.original_sg
    return ORIGINALS.get(ground.kind_of_wash or "", ANY_ORIGINAL)


def final_of(ground: FermentGround) -> Measured:
    """Give the gravity it is expected to end at."""
    original = min(max(original_of(ground).value, ORIGINAL_RANGE[0]), ORIGINAL_RANGE[1])
    if ground.attenuation is not None:
        return Measured(original - ground.attenuation * (original - 1.0), 0.0025)
    dry = _dry_sg(round(original, 4))
    if ground.kind_of_wash == "sugar":
        # Plain sugar leaves nothing that yeast cannot take: one that does not end dry has stopped.
        return Measured(dry + (FINAL_GRAVITIES["sugar"][1] - dry) / 4.0, 0.0045)
    low, high = FINAL_GRAVITIES["malt"]
    if ground.kind_of_wash == "grain":
        on_grain = ground.on_grain is not False  # its enzymes go on
        middle = (low + high) / 2.0
        return Measured((middle + dry) / 2.0 + 0.001 if on_grain else middle, 0.006)
    return Measured((dry + high) / 2.0, 0.005)


def _gravities(ground: FermentGround, noise: Members) -> tuple[Members, Members]:
    original, final = original_of(ground), final_of(ground)
    begins = original.value + sqrt(original.error**2 + 0.0005**2) * noise[Row.ORIGINAL]
    # A stronger wash ends a little lower, or higher where the yeast tires: together as it came.
    return begins, final.value + final.error * noise[Row.FALL]


def _alcohol(ground: FermentGround) -> tuple[float, float]:
    """Give what a fall is worth, as a logarithm: between the two published relations.

    Nearer to Balling's, as most washes leave more behind than the mass balance's 5 %.
    """
    original = min(max(original_of(ground).value, BALLING_RANGE[0]), BALLING_RANGE[1])
    low, high = (log(one) for one in _worth(round(original, 4)))
    return low + (high - low) / 5.0, (high - low) * 0.6


_dry_sg = lru_cache(maxsize=64)(complete_sg)
_worth = lru_cache(maxsize=64)(alcohol_per_fall)
