"""Into the bottle: how many, how full, what the label may say, and what duty comes to."""

from dataclasses import dataclass
from math import floor
from typing import Annotated, Literal

from calc.alcoholometry import abw_from_abv, density
from calc.errors import OutOfRangeError
from calc.mixture import Mixture
from calc.quantities import (
    ABV,
    VOLUME,
    Abv,
    PureAlcoholL,
    Quantity,
    SpiritTemperatureC,
    VolumeL,
    checked,
)

# Strength found may differ from the label's by 0.3 % vol either way: Regulation (EU) 1169/2011,
# Annex XII; 27 CFR 19.356.
LABEL_TOLERANCE_ABV = 0.3
# Tolerable negative error by nominal quantity: up to (mL), in mL or in percent. The 15 mL at
# 700 mL retrieved, the other rows from memory: Council Directive 76/211/EEC, Annex I.
EU_FILL = (
    (50.0, None, 9.0),
    (100.0, 4.5, None),
    (200.0, None, 4.5),
    (300.0, 9.0, None),
    (500.0, None, 3.0),
    (1000.0, 15.0, None),
    (10_000.0, None, 1.5),
)
# 27 CFR 19.356: 750 mL within 2 %. Its other sizes are not known here, and not guessed.
US_BOTTLE_ML, US_FILL_PERCENT = 750.0, 2.0

BOTTLE = Quantity("bottle_ml", "Bottle, nominal, at 20 °C", "mL", 5, 10_000, 0)
CONTENT = Quantity("content_ml", "Content found", "mL", 0, 11_000, 1)
FILL = Quantity("fill_ml", "Fill to", "mL", 0, 11_000, 1)
FILL_TOLERANCE = Quantity("tolerance_ml", "Tolerance", "mL", 0, 1000, 1)
BOTTLES = Quantity("bottle_count", "Full bottles", "bottles", 0, 1e9, 0)
DIFFERENCE = ABV.within(-100, 100).called("Found less label")
SHORT = Quantity("difference_ml", "Found less nominal, at 20 °C", "mL", -10_000, 11_000, 1)
DUTY_RATE = Quantity(
    "duty_per_l", "Duty on a litre of pure alcohol, in your money", "per L", 0, 1e6, 2
)
DUTY = Quantity("duty_money", "Duty, in your money", "", 0, 1e12, 2)

LabelAbv = Annotated[float, ABV.within(0.5, 100).called("Strength on the label")]
Rules = Literal["eu", "us"]


@dataclass(frozen=True, slots=True)
class Bottles:
    """How spirit comes out in bottles."""

    bottle_count: Annotated[float, BOTTLES]
    left_over_l: Annotated[float, VOLUME.called("Left over, at 20 °C")]
    fill_ml: Annotated[float, FILL.called("Fill each to, at the temperature given")]
    bottle_pure_alcohol_l: Annotated[float, VOLUME.called("Pure alcohol in a bottle")]
    pure_alcohol_l: PureAlcoholL


@dataclass(frozen=True, slots=True)
class LabelCheck:
    """Whether the strength found bears out the label."""

    difference_abv: Annotated[float, DIFFERENCE]
    lowest_abv: Annotated[float, ABV.called("Lowest that bears the label out")]
    highest_abv: Annotated[float, ABV.within(0, 101).called("Highest that bears the label out")]
    verdict: str


@dataclass(frozen=True, slots=True)
class FillCheck:
    """Whether the content found is enough."""

    content_at_20_c_ml: Annotated[float, CONTENT.called("Content at 20 °C")]
    difference_ml: Annotated[float, SHORT]
    tolerance_ml: Annotated[float, FILL_TOLERANCE]
    verdict: str


@dataclass(frozen=True, slots=True)
class Duty:
    """What duty comes to."""

    pure_alcohol_l: PureAlcoholL
    duty_money: Annotated[float, DUTY]


@checked
def bottles(
    volume_l: VolumeL,
    abv: Abv,
    temperature_c: SpiritTemperatureC = 20.0,
    bottle_ml: Annotated[float, BOTTLE] = 700.0,
) -> Bottles:
    """Return how many bottles a volume of spirit fills, and how far to fill them.

    Parameters
    ----------
    volume_l : float
        Of the spirit, at the temperature given.
    abv : float
        Percent by volume at 20 C, 0 to 100.
    temperature_c : float
        Of the spirit as it is bottled, -20 to 40 C.
    bottle_ml : float
        Nominal content, at 20 C; 5 to 10,000 mL.

    Returns
    -------
    Bottles
        Full bottles, what is left over at 20 C, what each is filled to at the temperature given
        so that it holds its nominal content at 20 C, and the pure alcohol in one and in all.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Nominal content is at 20 C: warm spirit is filled by rho(20 C) / rho(t) more. Nothing is
    allowed for what filter, pipes and spills keep.

    References
    ----------
    Council Directive 76/211/EEC (1976), Annex I (content at 20 C); OIML R 22 (1975).

    Examples
    --------
    >>> found = bottles(100.0, 40.0, 28.0)
    >>> found.bottle_count, round(found.fill_ml, 1)
    (142.0, 704.1)
    """
    nominal = bottle_ml / 1000.0
    swell = _swell(abv, temperature_c)
    at_20 = volume_l / swell
    count = floor(at_20 / nominal + 1e-9)
    return Bottles(
        bottle_count=float(count),
        left_over_l=max(at_20 - count * nominal, 0.0),
        fill_ml=bottle_ml * swell,
        bottle_pure_alcohol_l=nominal * abv / 100.0,
        pure_alcohol_l=Mixture.of_volume(volume_l, abv, temperature_c).pure_alcohol_l,
    )


@checked
def label_tolerance(
    label_abv: LabelAbv, abv: Annotated[float, ABV.called("Strength found")]
) -> LabelCheck:
    """Return whether the strength found bears out the label.

    Parameters
    ----------
    label_abv : float
        On the label, percent by volume at 20 C (at 60 F in the United States); 0.5 to 100.
    abv : float
        Found, at the same temperature; 0 to 100.

    Returns
    -------
    LabelCheck
        The difference, the lowest and highest that bear the label out, and the verdict.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Within 0.3 % vol either way, the limit included. The uncertainty of the measurement is not in
    that: an alcoholometer read to 0.2 % vol leaves 0.1 for the spirit.

    References
    ----------
    Regulation (EU) 1169/2011, Annex XII; 27 CFR 19.356.

    Examples
    --------
    >>> label_tolerance(40.0, 39.6).verdict
    'Out of tolerance: more than 0.3 % vol below the label.'
    """
    difference = abv - label_abv
    return LabelCheck(
        difference_abv=difference,
        lowest_abv=label_abv - LABEL_TOLERANCE_ABV,
        highest_abv=label_abv + LABEL_TOLERANCE_ABV,
        verdict=_label_verdict(difference),
    )


@checked
def fill_tolerance(
    bottle_ml: Annotated[float, BOTTLE],
    content_ml: Annotated[float, CONTENT.called("Content found, at the temperature given")],
    abv: Abv,
    temperature_c: SpiritTemperatureC = 20.0,
    rules: Rules = "eu",
) -> FillCheck:
    """Return whether the content of a bottle is enough.

    Parameters
    ----------
    bottle_ml : float
        Nominal content, 5 to 10,000 mL; 750 mL under the rules of the United States.
    content_ml : float
        Found, at the temperature given; 0 to 11,000 mL.
    abv : float
        Percent by volume at 20 C, 0 to 100.
    temperature_c : float
        Of the spirit as it was measured, -20 to 40 C.
    rules : {"eu", "us"}
        Whose tolerance.

    Returns
    -------
    FillCheck
        Content at 20 C, its difference from nominal, the tolerance, and the verdict.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the bottle is not 750 mL under the rules of the United
        States, whose other sizes are not known here.

    Notes
    -----
    European Union: tolerable negative error 15 mL from 500 to 1000 mL, and so on by size; one
    bottle in forty may be short by more, none by twice as much, and the mean of the batch not at
    all. United States: within 2 % of 750 mL either way, as many over as under.

    References
    ----------
    Council Directive 76/211/EEC (1976), Annex I (700 mL retrieved, other sizes from memory);
    27 CFR 19.356.

    Examples
    --------
    >>> round(fill_tolerance(700.0, 690.0, 40.0).difference_ml, 1)
    -10.0
    """
    at_20 = content_ml / _swell(abv, temperature_c)
    tolerance = _eu_tolerance(bottle_ml) if rules == "eu" else _us_tolerance(bottle_ml)
    difference = at_20 - bottle_ml
    verdict = _eu_verdict if rules == "eu" else _us_verdict
    return FillCheck(at_20, difference, tolerance, verdict(difference, tolerance))


@checked
def duty(
    volume_l: Annotated[float, VOLUME.called("Volume at 20 °C")],
    abv: Annotated[float, ABV.called("Strength, as on the label")],
    duty_per_l: Annotated[float, DUTY_RATE],
) -> Duty:
    """Return the duty on spirit at a rate you set.

    Parameters
    ----------
    volume_l : float
        At 20 C.
    abv : float
        Percent by volume at 20 C, 0 to 100.
    duty_per_l : float
        Money due on a litre of pure alcohol, in your currency. A rate on a US proof gallon comes
        to 0.526 times as much on a litre.

    Returns
    -------
    Duty
        Pure alcohol and the duty, in the currency of the rate.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range.

    Notes
    -----
    Duty = volume x strength x rate. Rounding and reliefs are the authority's.

    References
    ----------
    HMRC internal manual HMEXSH5030 (100 cases of 12 bottles of 0.70 L at 40 % are 336 L).

    Examples
    --------
    >>> duty(100 * 12 * 0.70, 40.0, 10.0)
    Duty(pure_alcohol_l=336.0, duty_money=3360.0)
    """
    pure = volume_l * abv / 100.0
    return Duty(pure, pure * duty_per_l)


def _swell(abv: float, temperature_c: float) -> float:
    """Return how much more volume spirit takes up than at 20 C, as a ratio."""
    abw = abw_from_abv(abv)
    return density(abw, 20.0) / density(abw, temperature_c)


def _label_verdict(difference_abv: float) -> str:
    if abs(difference_abv) <= LABEL_TOLERANCE_ABV + 1e-9:
        return "Within tolerance."
    side = "below" if difference_abv < 0 else "above"
    return f"Out of tolerance: more than {LABEL_TOLERANCE_ABV} % vol {side} the label."


def _eu_tolerance(bottle_ml: float) -> float:
    absolute, percent = next((a, p) for up_to, a, p in EU_FILL if bottle_ml <= up_to)
    return absolute if absolute is not None else bottle_ml * (percent or 0.0) / 100.0


def _us_tolerance(bottle_ml: float) -> float:
    if bottle_ml != US_BOTTLE_ML:
        raise OutOfRangeError(
            f"Bottle (bottle_ml) is {bottle_ml:.10g} mL; under the rules of the United States "
            "only 750 mL is known here. Look the size up in 27 CFR 19.356.",
            quantity="bottle_ml",
        )
    return bottle_ml * US_FILL_PERCENT / 100.0


def _eu_verdict(difference_ml: float, tolerance_ml: float) -> str:
    if difference_ml >= -1e-9:
        return "Enough."
    if difference_ml >= -tolerance_ml - 1e-9:
        return "Short, within the tolerable error; the mean of the batch must not be short."
    if difference_ml >= -2 * tolerance_ml - 1e-9:
        return "Short by more than the tolerable error; at most one bottle in forty may be."
    return "Short by more than twice the tolerable error: not to be sold."


def _us_verdict(difference_ml: float, tolerance_ml: float) -> str:
    if abs(difference_ml) <= tolerance_ml + 1e-9:
        return "Within tolerance; fills must lie about as often over as under."
    return f"Out of tolerance: {'short' if difference_ml < 0 else 'over'} by more than 2 %."
