"""From wash through stripping runs to a spirit run in a pot still: what to expect of it."""

from dataclasses import dataclass
from math import ceil
from typing import Annotated

import numpy as np

from calc.alcoholometry import abv_from_mole_fraction, mole_fraction_from_abv
from calc.equilibrium import vapour_over
from calc.errors import OutOfRangeError
from calc.mixture import Mixture
from calc.quantities import (
    ABV,
    EXPECTED_ABV,
    EXPECTED_VOLUME,
    PURE_ALCOHOL,
    VOLUME,
    FloatArray,
    PressureHpa,
    Quantity,
    checked,
)
from calc.rayleigh import Trajectory, trajectory
from calc.simple_distillation import RECOVERY, simple_distillation, way_to_end

WASH_VOLUME = VOLUME.within(0.5, 100_000).called("Volume of wash at 20 °C")
WASH_ABV = ABV.within(1, 25).called("Strength of the wash")
LARGEST_CHARGE = VOLUME.within(0.5, 100_000).called("Largest charge of the still")
STRIP_END = ABV.within(0.5, 40).called("End a stripping run when the spout has fallen to")
SPIRIT_END = ABV.within(0.5, 60).called("End the spirit run when the spout has fallen to")
RUNS = Quantity("runs", "Runs", "", 1, 100_000, 0)
FORESHOTS, HEADS, HEARTS, TAILS = (
    EXPECTED_VOLUME.called(name) for name in ("Foreshots", "Heads", "Hearts", "Tails")
)

# Of the pure alcohol charged. Common practice, no source.
_FORESHOTS = (0.01, 0.02)
_HEADS = (0.05, 0.15)
_HEARTS = (0.50, 0.70)
_TAILS = (0.15, 0.30)


@dataclass(frozen=True, slots=True)
class WashToSpirit:
    """What a wash may give, cut by cut, from the least to the most; all at 20 C."""

    stripping_runs: Annotated[float, RUNS.called("Stripping runs")]
    stripping_charge_l: Annotated[float, EXPECTED_VOLUME.called("Charge of each stripping run")]
    low_wines_volume_l: Annotated[float, EXPECTED_VOLUME.called("Low wines")]
    low_wines_abv: Annotated[float, EXPECTED_ABV.called("Strength of the low wines")]
    low_wines_pure_alcohol_l: Annotated[float, PURE_ALCOHOL.called("Pure alcohol of the low wines")]
    recovery: Annotated[float, RECOVERY.called("Share of the alcohol stripped out")]
    spirit_runs: Annotated[float, RUNS.called("Spirit runs")]
    foreshots_low_l: Annotated[float, FORESHOTS.called("Foreshots, at least")]
    foreshots_high_l: Annotated[float, FORESHOTS.called("Foreshots, at most")]
    heads_low_l: Annotated[float, HEADS.called("Heads, at least")]
    heads_high_l: Annotated[float, HEADS.called("Heads, at most")]
    hearts_low_l: Annotated[float, HEARTS.called("Hearts, at least")]
    hearts_high_l: Annotated[float, HEARTS.called("Hearts, at most")]
    tails_low_l: Annotated[float, TAILS.called("Tails, at least")]
    tails_high_l: Annotated[float, TAILS.called("Tails, at most")]
    hearts_abv: Annotated[float, EXPECTED_ABV.called("Strength of the hearts, about")]
    hearts_start_abv: Annotated[float, EXPECTED_ABV.called("Spout where hearts begin, about")]
    hearts_end_abv: Annotated[float, EXPECTED_ABV.called("Spout where hearts end, about")]
    hearts_pure_alcohol_low_l: Annotated[
        float, PURE_ALCOHOL.called("Pure alcohol of the hearts, at least")
    ]
    hearts_pure_alcohol_high_l: Annotated[
        float, PURE_ALCOHOL.called("Pure alcohol of the hearts, at most")
    ]


@checked
def wash_to_spirit(
    wash_volume_l: Annotated[float, WASH_VOLUME],
    wash_abv: Annotated[float, WASH_ABV],
    largest_charge_l: Annotated[float, LARGEST_CHARGE],
    pressure_hpa: PressureHpa,
    strip_end_spout_abv: Annotated[float, STRIP_END] = 10.0,
    spirit_end_spout_abv: Annotated[float, SPIRIT_END] = 5.0,
) -> WashToSpirit:
    """Return the low wines of several stripping runs and the cuts of the spirit run after them.

    Parameters
    ----------
    wash_volume_l : float
        All the wash, 0.5 to 100,000 L at 20 C.
    wash_abv : float
        Its strength, 1 to 25 % vol.
    largest_charge_l : float
        Most that goes into the still at once: 70 to 75 % of the pot for a clear wash.
    pressure_hpa : float
        600 to 1100 hPa, by the barometer where the still stands.
    strip_end_spout_abv : float
        A stripping run ends when the spout has fallen to this, 0.5 to 40 % vol.
    spirit_end_spout_abv : float
        The spirit run ends when the spout has fallen to this, 0.5 to 60 % vol.

    Returns
    -------
    WashToSpirit
        How many runs, the low wines together, and for all spirit runs together the least and the
        most of each cut at the strength it comes off with, in litres at 20 C.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the spout never is as strong as a run's end, or the spirit
        run ends before it has given the cuts their least.

    Notes
    -----
    Equal charges, each boiled down by `simple_distillation`; the low wines of all together. The
    spirit run is boiled down the same way and divided by shares of the pure alcohol charged:
    foreshots 1-2 %, heads 5-15 %, hearts 50-70 %, tails 15-30 % or what is left. Each cut begins
    where the middles of the shares before it end. With reflux cuts come off stronger and smaller.
    Nose and taste decide, not the figures.

    References
    ----------
    Rayleigh (1902), Philosophical Magazine 4, 521, doi 10.1080/14786440209462876. Shares of the
    cuts: common practice, no source.

    Examples
    --------
    >>> plan = wash_to_spirit(100.0, 9.0, 25.0, 1013.25)
    >>> plan.stripping_runs, round(plan.low_wines_volume_l), round(plan.low_wines_abv)
    (4, 25, 33)
    """
    stripping_runs = ceil(wash_volume_l / largest_charge_l)
    charge_l = wash_volume_l / stripping_runs
    _check_end(wash_abv, pressure_hpa, "strip_end_spout_abv", STRIP_END, strip_end_spout_abv)
    strip = simple_distillation(charge_l, wash_abv, pressure_hpa, strip_end_spout_abv)
    low_wines_l = strip.collected_volume_l * stripping_runs
    _check_end(
        strip.collected_abv, pressure_hpa, "spirit_end_spout_abv", SPIRIT_END, spirit_end_spout_abv
    )
    low_wines = Mixture.of_volume(low_wines_l, strip.collected_abv)
    way = way_to_end(low_wines, pressure_hpa, {"end_spout_abv": spirit_end_spout_abv})
    cuts = _Cuts.of(low_wines, trajectory(low_wines, way, pressure_hpa))
    hearts_from, hearts_to = _middle(_FORESHOTS) + _middle(_HEADS), _TAILS_FROM
    return WashToSpirit(
        stripping_runs,
        charge_l,
        low_wines_l,
        strip.collected_abv,
        low_wines.pure_alcohol_l,
        strip.recovery,
        ceil(low_wines_l / largest_charge_l),
        *cuts.volumes(0.0, _FORESHOTS),
        *cuts.volumes(_middle(_FORESHOTS), _HEADS),
        *cuts.volumes(hearts_from, _HEARTS),
        *cuts.volumes(_TAILS_FROM, _TAILS),
        cuts.strength(hearts_from, hearts_to),
        cuts.spout(hearts_from),
        cuts.spout(hearts_to),
        *(low_wines.pure_alcohol_l * share for share in _HEARTS),
    )


def _middle(shares: tuple[float, float]) -> float:
    return (shares[0] + shares[1]) / 2.0


_TAILS_FROM = _middle(_FORESHOTS) + _middle(_HEADS) + _middle(_HEARTS)


def _check_end(abv: float, hpa: float, name: str, quantity: Quantity, end_abv: float) -> None:
    first = abv_from_mole_fraction(vapour_over(mole_fraction_from_abv(abv), hpa))
    if end_abv >= first:
        raise OutOfRangeError(
            f"{quantity.label} ({name}) is {end_abv:g} % vol; that run's spout begins at "
            f"{first:.1f} % vol, so give less.",
            quantity=name,
        )


@dataclass(frozen=True, slots=True)
class _Cuts:
    """A spirit run by the share of the pure alcohol charged that has come over."""

    share: FloatArray
    run: Trajectory
    pure_alcohol_l: float

    @classmethod
    def of(cls, charge: Mixture, run: Trajectory) -> "_Cuts":
        share = run.collected_ethanol_kg / charge.ethanol_kg
        if share[-1] < _TAILS_FROM + _TAILS[0]:
            raise OutOfRangeError(
                f"{SPIRIT_END.label} (spirit_end_spout_abv) leaves {1 - share[-1]:.0%} of the "
                "alcohol in the pot, so the cuts are not complete; end weaker.",
                quantity="spirit_end_spout_abv",
            )
        return cls(share, run, charge.pure_alcohol_l)

    def collected_l(self, share: float) -> float:
        return float(np.interp(share, self.share, self.run.collected_volume_l))

    def spout(self, share: float) -> float:
        return float(np.interp(share, self.share, self.run.spout_abv))

    def volumes(self, begin: float, shares: tuple[float, float]) -> tuple[float, float]:
        """Return the least and the most of a cut; the last ends with the run."""
        low, high = (self.collected_l(begin + share) - self.collected_l(begin) for share in shares)
        return low, high

    def strength(self, begin: float, end: float) -> float:
        """Return the strength of a cut, as if volumes added: within 0.1 % vol between 40 and 85."""
        volume = self.collected_l(end) - self.collected_l(begin)
        return 100.0 * self.pure_alcohol_l * (end - begin) / volume
