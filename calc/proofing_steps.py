"""On the way to strength: what an addition does, what an overshoot costs, and a slow schedule."""

from dataclasses import dataclass
from math import ceil
from typing import Annotated

import numpy as np

from calc.alcoholometry import abw_from_abv, density
from calc.errors import OutOfRangeError
from calc.mixture import Mixture
from calc.proofing import ContractionL, TargetAbv, WaterVolumeL, check_weaker
from calc.quantities import (
    ABV,
    VOLUME,
    Abv,
    FloatArray,
    Quantity,
    SpiritTemperatureC,
    VolumeL,
    checked,
)

DAILY_FALL = ABV.within(0.2, 50).called("Largest fall in strength a day")
SLOW_FROM = ABV.called("Strength to come down to on the first day")
DURATION = Quantity("duration_days", "Days it takes", "days", 0, 1000, 0)
EXCESS_WATER = Quantity("excess_water_percent", "Water too much, of the volume", "%", 0, 100, 2)

# Water too much, in percent of the spirit's volume, that is worth a warning: at 40 % vol it has
# taken 0.2 of the 0.3 % vol the label may be off. Common practice, no source.
OVERSHOOT_WARNING_PERCENT = 0.5


@dataclass(frozen=True, slots=True)
class Addition:
    """What becomes of spirit after something is added to it."""

    abv: Annotated[float, ABV.called("Strength after the addition")]
    final_volume_l: Annotated[float, VOLUME.called("Final volume")]
    contraction_l: ContractionL


@dataclass(frozen=True, slots=True)
class Correction:
    """Stronger spirit that puts an overshoot right."""

    stronger_volume_l: Annotated[float, VOLUME.called("Stronger spirit to add")]
    final_volume_l: Annotated[float, VOLUME.called("Final volume")]
    excess_water_volume_l: Annotated[float, VOLUME.called("Water too much")]
    excess_water_percent: Annotated[float, EXCESS_WATER]
    advice: str


@dataclass(frozen=True, slots=True)
class Schedule:
    """Water to add day by day."""

    duration_days: Annotated[float, DURATION]
    water_volume_l: WaterVolumeL
    final_volume_l: Annotated[float, VOLUME.called("Final volume")]
    daily_water_volume_l: tuple[Annotated[float, VOLUME.called("Water to add each day")], ...]
    daily_abv: tuple[Annotated[float, ABV.called("Strength after each day")], ...]


@checked
def addition(
    volume_l: VolumeL,
    abv: Abv,
    added_volume_l: Annotated[float, VOLUME.called("Volume added")],
    added_abv: Annotated[float, ABV.called("Strength of what is added")] = 0.0,
    temperature_c: SpiritTemperatureC = 20.0,
) -> Addition:
    """Return the strength of spirit after water or another spirit is added to it.

    Parameters
    ----------
    volume_l, added_volume_l : float
        At the temperature given; not both zero.
    abv, added_abv : float
        Percent by volume at 20 C, 0 to 100; nothing but water is added unless a strength is
        given.
    temperature_c : float
        Of both and of the mixture, -20 to 40 C.

    Returns
    -------
    Addition
        Strength, final volume, and the volume lost by contraction.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or both volumes are zero.

    Notes
    -----
    Masses of ethanol and of water add; the volume is the mass by rho(p, t).

    References
    ----------
    OIML R 22 (1975), International Alcoholometric Tables, general formula.

    Examples
    --------
    >>> round(addition(10.0, 65.0, 6.25).abv, 2)
    40.47
    """
    both = Mixture.of_volume(volume_l, abv, temperature_c) + Mixture.of_volume(
        added_volume_l, added_abv, temperature_c
    )
    both.check_some("volume_l")
    final = both.volume_l(temperature_c)
    return Addition(both.abv(), final, volume_l + added_volume_l - final)


@checked
def overshoot(
    volume_l: VolumeL,
    abv: Annotated[float, ABV.called("Strength it has come down to")],
    target_abv: TargetAbv,
    stronger_abv: Annotated[float, ABV.called("Strength of the spirit at hand")],
    temperature_c: SpiritTemperatureC = 20.0,
) -> Correction:
    """Return the stronger spirit that puts right a spirit diluted too far.

    Parameters
    ----------
    volume_l : float
        Of the spirit diluted too far, at the temperature given.
    abv : float
        Its strength, percent by volume at 20 C; no more than wanted.
    target_abv : float
        Strength wanted, percent by volume at 20 C; 0.5 to 100.
    stronger_abv : float
        Strength of the spirit at hand, percent by volume at 20 C; above the strength wanted.
    temperature_c : float
        Of both, at which all volumes are taken; -20 to 40 C.

    Returns
    -------
    Correction
        Stronger spirit to add, final volume, the water that is too much, also in percent of the
        spirit's volume, and advice.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the spirit is not below the strength wanted, or the spirit
        at hand not above it.

    Notes
    -----
    With p, p2 and p3 the strengths by mass of spirit, wanted and stronger: stronger spirit
    m (p2 - p) / (p3 - p2), water too much m (1 - p / p2). From half a percent of water too much
    the strength of the label is in danger (tolerance 0.3 % vol).

    References
    ----------
    OIML R 22 (1975), density formula; the half percent is common practice, no source.

    Examples
    --------
    >>> found = overshoot(100.0, 39.5, 40.0, 65.0)
    >>> round(found.stronger_volume_l, 2), round(found.excess_water_percent, 2)
    (1.97, 1.27)
    """
    _check_overshoot(abv, target_abv, stronger_abv)
    p, wanted, strong = (abw_from_abv(v) for v in (abv, target_abv, stronger_abv))
    spirit = Mixture.of_volume(volume_l, abv, temperature_c)
    added = spirit.mass_kg * (wanted - p) / (strong - wanted)
    excess = 1000.0 * spirit.mass_kg * (1.0 - p / wanted) / density(0.0, temperature_c)
    percent = 100.0 * excess / volume_l if volume_l else 0.0
    return Correction(
        stronger_volume_l=1000.0 * added / density(strong, temperature_c),
        final_volume_l=1000.0 * (spirit.mass_kg + added) / density(wanted, temperature_c),
        excess_water_volume_l=excess,
        excess_water_percent=percent,
        advice=_advice(percent),
    )


@checked
def schedule(
    volume_l: VolumeL,
    abv: Abv,
    target_abv: TargetAbv,
    daily_fall_abv: Annotated[float, DAILY_FALL] = 2.0,
    slow_from_abv: Annotated[float, SLOW_FROM] = 100.0,
    temperature_c: SpiritTemperatureC = 20.0,
) -> Schedule:
    """Return the water to add day by day that brings spirit slowly to strength.

    Parameters
    ----------
    volume_l : float
        Of the spirit, at the temperature given.
    abv, target_abv : float
        Strength now and wanted, percent by volume at 20 C; wanted no less than 0.5 and no more
        than now.
    daily_fall_abv : float
        No day lowers the strength by more, 0.2 to 50 % vol; 1 to 2 % vol is usual.
    slow_from_abv : float
        Come down to this strength with the first addition, and slowly from there; 100 to go
        slowly all the way.
    temperature_c : float
        Of spirit and water, at which all volumes are taken; -20 to 40 C.

    Returns
    -------
    Schedule
        Days, water in all, final volume, and water and strength day by day.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the strength wanted is above the spirit's.

    Notes
    -----
    Equal falls in strength, none above the largest; the water of a day is the difference of the
    dilutions to its strength and to the day before's. Slow steps keep oils in solution: haze
    comes up below about 46 % vol.

    References
    ----------
    OIML R 22 (1975), density formula; the pace is common practice, no source.

    Examples
    --------
    >>> found = schedule(10.0, 65.0, 40.0, 2.0, 46.0)
    >>> [round(v, 1) for v in found.daily_abv]
    [46.0, 44.0, 42.0, 40.0]
    >>> round(found.water_volume_l, 3)
    6.441
    """
    check_weaker(abv, target_abv)
    steps = _steps(abv, target_abv, daily_fall_abv, slow_from_abv)
    water, volume = _additions(volume_l, abv, np.array([abv, *steps]), temperature_c)
    return Schedule(
        duration_days=float(len(steps)),
        water_volume_l=float(water[-1]),
        final_volume_l=float(volume[-1]),
        daily_water_volume_l=tuple(float(v) for v in np.diff(water)),
        daily_abv=tuple(steps),
    )


def schedule_curve(
    volume_l: float,
    abv: float,
    target_abv: float,
    daily_fall_abv: float = 2.0,
    slow_from_abv: float = 100.0,
    temperature_c: float = 20.0,
) -> dict[str, FloatArray]:
    """Return strength, volume and the water added so far, against days."""
    check_weaker(abv, target_abv)
    stages = np.array([abv, *_steps(abv, target_abv, daily_fall_abv, slow_from_abv)])
    water, volume = _additions(volume_l, abv, stages, temperature_c)
    days = np.arange(len(stages), dtype=float)
    return {"duration_days": days, "abv": stages, "volume_l": volume, "water_volume_l": water}


def _steps(
    abv: float, target_abv: float, daily_fall_abv: float, slow_from_abv: float
) -> list[float]:
    """Return the strength after each day; empty where there is nothing to do."""
    start = max(min(abv, slow_from_abv), target_abv)
    first = [start] if start < abv else []
    count = ceil((start - target_abv) / daily_fall_abv - 1e-9)
    return first + [start + (target_abv - start) * (i + 1) / count for i in range(count)]


def _additions(
    volume_l: float, abv: float, stages: FloatArray, temperature_c: float
) -> tuple[FloatArray, FloatArray]:
    """Return the volumes of water added so far and of the spirit, at each strength."""
    spirit = Mixture.of_volume(volume_l, abv, temperature_c)
    abw = abw_from_abv(stages)
    total = spirit.ethanol_kg / abw
    water = 1000.0 * (total - spirit.mass_kg) / density(0.0, temperature_c)
    return np.maximum(water, 0.0), 1000.0 * total / density(abw, temperature_c)


def _check_overshoot(abv: float, target_abv: float, stronger_abv: float) -> None:
    if abv > target_abv:
        raise OutOfRangeError(
            f"Strength it has come down to (abv) is {abv:.10g} % vol; to be put right it must lie "
            f"between 0 and the strength wanted, {target_abv:.10g} % vol.",
            quantity="abv",
        )
    if stronger_abv <= target_abv:
        raise OutOfRangeError(
            f"Strength of the spirit at hand (stronger_abv) is {stronger_abv:.10g} % vol; it must "
            f"lie above the strength wanted, {target_abv:.10g}, and at most 100 % vol.",
            quantity="stronger_abv",
        )


def _advice(excess_water_percent: float) -> str:
    if excess_water_percent >= OVERSHOOT_WARNING_PERCENT:
        return (
            f"Warning: half a percent of water too much or more ({excess_water_percent:.2f} %): "
            "the strength on the label is in danger; put it right before bottling."
        )
    return (
        f"Less than half a percent of water too much ({excess_water_percent:.2f} %): "
        "measure again at 20 °C before adding anything."
    )
