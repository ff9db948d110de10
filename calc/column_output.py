"""What a batch column delivers, and how its height counts in stages."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from calc.alcoholometry import abv_from_mole_fraction, mole_fraction_from_abv
from calc.column import (
    DRAWING_REFLUX,
    STAGES,
    ColumnStages,
    PotAbv,
    Stages,
    TopAbv,
    total_reflux_stages,
)
from calc.equilibrium import dew_point
from calc.errors import OutOfRangeError
from calc.heat import (
    SECONDS_PER_HOUR,
    SPOUT_ML_MIN,
    VAPOUR_KG_H,
    VAPOUR_M3_H,
    litres_per_mole,
    net_power,
    raw_g_mol,
    raw_latent_kj_mol,
    raw_m3_mol,
)
from calc.pressure import STANDARD_HPA, ZERO_C
from calc.quantities import (
    EXPECTED_ABV,
    TEMPERATURE,
    FloatArray,
    HeatLossKw,
    PowerKw,
    PressureHpa,
    Quantity,
    checked,
)
from calc.stages import equilibrium_at, richest_top

PACKED_HEIGHT = Quantity("packed_height_m", "Height of the packing", "m", 0.05, 20, 2)
PLATE_HEIGHT = Quantity(
    "height_per_plate_m", "Height equal to a theoretical plate", "m", 0.01, 5, 3
)


@dataclass(frozen=True, slots=True)
class ColumnOutput:
    """What a column delivers at a power and a reflux ratio."""

    top_abv: Annotated[float, EXPECTED_ABV.called("Strength at the top")]
    head_temperature_c: Annotated[float, TEMPERATURE.called("Head temperature")]
    spout_ml_min: Annotated[float, SPOUT_ML_MIN]
    pure_alcohol_ml_min: Annotated[float, SPOUT_ML_MIN.called("Pure alcohol at the spout")]
    returned_ml_min: Annotated[float, SPOUT_ML_MIN.called("Returned to the column, as at 20 °C")]
    vapour_kg_h: Annotated[float, VAPOUR_KG_H]
    vapour_m3_h: Annotated[float, VAPOUR_M3_H]


@checked
def column_stages(
    packed_height_m: Annotated[float, PACKED_HEIGHT],
    height_per_plate_m: Annotated[float, PLATE_HEIGHT],
) -> Stages:
    """Return how many stages a packed column makes.

    Parameters
    ----------
    packed_height_m : float
        0.05 to 20 m of packing.
    height_per_plate_m : float
        0.01 to 5 m: structured gauze 0.1 to 0.2, mesh pads 0.06 to 0.15, 6 mm rings 0.10 to 0.25.

    Returns
    -------
    float
        Theoretical stages, the pot counted as one.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or there are more than 200 stages.

    Notes
    -----
    Stages = 1 + height / height per plate. Heights per plate grow when a column is pushed towards
    flooding, runs too slow to wet its packing, or is wider than the packing spreads liquid.

    References
    ----------
    Definition; heights per plate: common practice, no source.

    Examples
    --------
    >>> column_stages(1.2, 0.15)
    9.0
    """
    stages = 1.0 + packed_height_m / height_per_plate_m
    STAGES.check(stages, "stages")
    return stages


@checked
def height_per_plate(
    packed_height_m: Annotated[float, PACKED_HEIGHT],
    pot_abv: PotAbv,
    top_abv: TopAbv,
    pressure_hpa: PressureHpa = STANDARD_HPA,
) -> Annotated[float, PLATE_HEIGHT]:
    """Return the height equal to a theoretical plate from a test at total reflux.

    Parameters
    ----------
    packed_height_m : float
        0.05 to 20 m of packing.
    pot_abv, top_abv : float
        Strengths in the pot and at the top, sampled when the column has run at total reflux until
        nothing changes.
    pressure_hpa : float
        600 to 1100 hPa.

    Returns
    -------
    float
        Metres.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, the top is as strong as the azeotrope, or no stronger than
        the pot's own vapour, in which case the packing did nothing.

    Notes
    -----
    Height / (`total_reflux_stages` - 1). Near the azeotrope a small error of strength is many
    stages: test with a weak pot, or so that the top stays below 95 % vol.

    References
    ----------
    McCabe & Thiele (1925), Ind. Eng. Chem. 17, 605, doi 10.1021/ie50186a023; equilibrium fitted to
    Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, and others named in `calc.activity`.

    Examples
    --------
    >>> round(height_per_plate(0.6, 30.0, 93.0), 2)
    0.19
    """
    stages = total_reflux_stages(pot_abv, top_abv, pressure_hpa)
    if stages <= 1.0:
        raise OutOfRangeError(
            f"Strength at the top (top_abv) is {top_abv:g} % vol; the pot's own vapour is as "
            "strong, so the packing did nothing. Sample again once the column has settled.",
            quantity="top_abv",
        )
    height = packed_height_m / (stages - 1.0)
    PLATE_HEIGHT.check(height, "height_per_plate_m")
    return height


@checked
def column_output(
    pot_abv: PotAbv,
    stages: ColumnStages,
    reflux_ratio: Annotated[float, DRAWING_REFLUX],
    power_kw: PowerKw,
    heat_loss_kw: HeatLossKw = 0.0,
    pressure_hpa: PressureHpa = STANDARD_HPA,
) -> ColumnOutput:
    """Return the strength and the rate a column delivers.

    Parameters
    ----------
    pot_abv : float
        0.1 to 95 % vol.
    stages : float
        Theoretical stages, pot included, 1 to 100.
    reflux_ratio : float
        Returned to drawn, 0.01 to 1000.
    power_kw : float
        Heating power that reaches the pot, 0.05 to 2000 kW.
    heat_loss_kw : float
        Power pot and column lose to the room, below `power_kw`.
    pressure_hpa : float
        600 to 1100 hPa.

    Returns
    -------
    ColumnOutput
        Strength and temperature at the top, drawn and returned rates at 20 C, vapour in the head.

    Raises
    ------
    OutOfRangeError
        If a quantity is out of range, or the losses take all the power.

    Notes
    -----
    The strength whose `reflux_stages` are those of the column. Moles of vapour = net power /
    latent heat of the pot's vapour, the same up the column; 1 in (R + 1) is drawn. It holds for
    the pot as it is: as the pot weakens, so does the top at one reflux ratio.

    References
    ----------
    McCabe & Thiele (1925), Ind. Eng. Chem. 17, 605, doi 10.1021/ie50186a023; equilibrium fitted to
    Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, and others named in `calc.activity`;
    latent heats: CRC Handbook of Chemistry and Physics and IAPWS R7-97(2012).

    Examples
    --------
    >>> found = column_output(30.0, 8.0, 3.0, 2.0)
    >>> round(found.top_abv, 1), round(found.spout_ml_min)
    (94.3, 38)
    """
    x_pot = mole_fraction_from_abv(pot_abv)
    net = net_power(power_kw, heat_loss_kw)
    y = richest_top(x_pot, stages, reflux_ratio, pressure_hpa)
    top_abv = abv_from_mole_fraction(y)
    moles_s = net / raw_latent_kj_mol(equilibrium_at(pressure_hpa)(x_pot))
    head_c = dew_point(y, pressure_hpa)
    spout = moles_s / (reflux_ratio + 1.0) * litres_per_mole(top_abv) * 60_000.0
    return ColumnOutput(
        top_abv=top_abv,
        head_temperature_c=head_c,
        spout_ml_min=spout,
        pure_alcohol_ml_min=spout * top_abv / 100.0,
        returned_ml_min=spout * reflux_ratio,
        vapour_kg_h=moles_s * raw_g_mol(y) / 1000.0 * SECONDS_PER_HOUR,
        vapour_m3_h=moles_s * raw_m3_mol(head_c + ZERO_C, pressure_hpa) * SECONDS_PER_HOUR,
    )


def column_output_line(
    pot_abv: float,
    stages: float,
    power_kw: float,
    heat_loss_kw: float = 0.0,
    pressure_hpa: float = STANDARD_HPA,
) -> dict[str, FloatArray]:
    """Return strength and spout rate against the reflux ratio."""
    ratios = np.geomspace(0.1, 50.0, 60)
    found = [
        column_output(pot_abv, stages, float(r), power_kw, heat_loss_kw, pressure_hpa)
        for r in ratios
    ]
    return {
        "reflux_ratio": ratios,
        "top_abv": np.array([one.top_abv for one in found]),
        "spout_ml_min": np.array([one.spout_ml_min for one in found]),
    }
