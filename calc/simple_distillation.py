"""Simple distillation: boiling a pot down with no reflux, after Rayleigh."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from calc.alcoholometry import (
    abv_from_mole_fraction,
    density,
    mole_fraction_from_abv,
    mole_fraction_from_abw,
)
from calc.arrays import distinct
from calc.equilibrium import (
    bubble_point,
    liquid_under,
    raw_liquid_at,
    vapour_over,
)
from calc.errors import OutOfRangeError, QuantityError
from calc.heat import (
    START_TEMPERATURE,
    HeatUp,
    heat_up,
    net_power,
)
from calc.mixture import Mixture
from calc.pressure import ZERO_C, water_boiling_point
from calc.quantities import (
    ABV,
    DURATION_H,
    DURATION_MIN,
    ENERGY,
    EXPECTED_ABV,
    EXPECTED_VOLUME,
    TEMPERATURE,
    VOLUME,
    FloatArray,
    HeatLossKw,
    PowerKw,
    PressureHpa,
    PureAlcoholL,
    Quantity,
    checked,
)
from calc.rayleigh import BoilDown, boil_mixture_down, left_in_pot, litres, trajectory
from calc.solve import root

CHARGE_VOLUME = VOLUME.within(0.1, 100_000).called("Volume of the charge at 20 °C")
CHARGE_ABV = ABV.within(0.5, 95).called("Strength of the charge")
END_SPOUT_ABV = ABV.within(0.1, 95).called("Stop when the spout has fallen to")
END_POT_ABV = ABV.within(0.01, 95).called("Stop when the pot has fallen to")
END_POT_TEMPERATURE = TEMPERATURE.called("Stop when the pot has reached")
END_VOLUME = VOLUME.within(0.001, 100_000).called("Stop when this much is collected")
RECOVERY = Quantity("recovery", "Share of the alcohol recovered", "", 0, 1, 3)
POT_ABV = EXPECTED_ABV.called("Strength in the pot")
SPOUT_ABV = EXPECTED_ABV.called("Strength at the spout")
COLLECTED_ABV = EXPECTED_ABV.called("Strength of all collected")
COLLECTED_VOLUME = EXPECTED_VOLUME.called("Collected, at 20 °C")
POT_TEMPERATURE = TEMPERATURE.called("Pot temperature")

# Bounds on ln(x_start / x): the first drop, and a pot with no more than a trace of alcohol left.
_SHALLOWEST, _DEEPEST = 1e-12, 64.0
_ROOM_C = 20.0
_NO_POWER = "give a power to see it"
_POINTS_OF_A_LINE = 240


@dataclass(frozen=True, slots=True)
class SimpleDistillation:
    """What a run with no reflux gives; volumes at 20 C, times None without a power."""

    collected_volume_l: Annotated[float, COLLECTED_VOLUME]
    collected_abv: Annotated[float, COLLECTED_ABV]
    residue_volume_l: Annotated[float, EXPECTED_VOLUME.called("Left in the pot, at 20 °C")]
    residue_abv: Annotated[float, EXPECTED_ABV.called("Strength left in the pot")]
    recovery: Annotated[float, RECOVERY]
    pure_alcohol_l: PureAlcoholL
    first_spout_abv: Annotated[float, EXPECTED_ABV.called("Strength of the first spirit")]
    last_spout_abv: Annotated[float, EXPECTED_ABV.called("Strength of the last spirit")]
    pot_temperature_start_c: Annotated[float, TEMPERATURE.called("Pot begins to boil at")]
    pot_temperature_end_c: Annotated[float, TEMPERATURE.called("Pot at the end")]
    heat_up_kwh: Annotated[float, ENERGY.called("Energy to warm up")]
    boiling_kwh: Annotated[float, ENERGY.called("Energy to boil it off")]
    heat_up_min: (
        Annotated[float, DURATION_MIN.called("Time to warm up").if_absent(_NO_POWER)] | None
    )
    boiling_h: (
        Annotated[float, DURATION_H.called("Time to boil it off").if_absent(_NO_POWER)] | None
    )


@checked
def simple_distillation(
    volume_l: Annotated[float, CHARGE_VOLUME],
    abv: Annotated[float, CHARGE_ABV],
    pressure_hpa: PressureHpa,
    end_spout_abv: Annotated[float, END_SPOUT_ABV] | None = None,
    end_pot_abv: Annotated[float, END_POT_ABV] | None = None,
    end_pot_temperature_c: Annotated[float, END_POT_TEMPERATURE] | None = None,
    end_collected_volume_l: Annotated[float, END_VOLUME] | None = None,
    power_kw: PowerKw | None = None,
    heat_loss_kw: HeatLossKw = 0.0,
    start_temperature_c: Annotated[float, START_TEMPERATURE.within(-5, 75)] = 20.0,
) -> SimpleDistillation:
    """Return what a pot still with no reflux collects and leaves.

    Parameters
    ----------
    volume_l : float
        Charge, 0.1 to 100,000 L at 20 C.
    abv : float
        Its strength, 0.5 to 95 % vol.
    pressure_hpa : float
        600 to 1100 hPa, by the barometer where the still stands.
    end_spout_abv : float, optional
        The run ends when the spout has fallen to this strength, 0.1 to 95 % vol.
    end_pot_abv : float, optional
        Or when the pot has, 0.01 to 95 % vol.
    end_pot_temperature_c : float, optional
        Or when the pot has reached this temperature.
    end_collected_volume_l : float, optional
        Or when this much is collected, at 20 C. Exactly one of the four ends a run.
    power_kw : float, optional
        Heating power that reaches the pot, 0.05 to 2000 kW; times are None without it.
    heat_loss_kw : float
        Power lost to the room while boiling, below `power_kw`.
    start_temperature_c : float
        Of the charge when the heat goes on, -5 to 75 C.

    Returns
    -------
    SimpleDistillation
        Collected and left in the pot, share of the alcohol recovered, temperatures, energy, time.

    Raises
    ------
    QuantityError
        If not exactly one end is given.
    OutOfRangeError
        If a quantity is out of range, or the end is not on the way from the charge to water.

    Notes
    -----
    Rayleigh's equation, d ln(L) = dx / (y - x), over the equilibrium of `calc.equilibrium`; with no
    reflux the head is as warm as the pot. Volumes do not add, alcohol and water do: the balance
    closes to 1e-9. Energy: latent heat of the vapour, and the pot's own warming. A real pot still
    has some reflux in its head, so it collects a little less and stronger.

    References
    ----------
    Rayleigh (1902), Philosophical Magazine 4, 521, doi 10.1080/14786440209462876; equilibrium
    fitted to Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, and others named in
    `calc.activity`; volumes by OIML R 22 (1975).

    Examples
    --------
    >>> run = simple_distillation(25.0, 9.0, 1013.25, end_spout_abv=10.0)
    >>> round(run.collected_volume_l, 1), round(run.collected_abv), round(run.recovery, 2)
    (6.3, 33, 0.93)
    """
    charge = Mixture.of_volume(volume_l, abv)
    ends = {
        "end_spout_abv": end_spout_abv,
        "end_pot_abv": end_pot_abv,
        "end_pot_temperature_c": end_pot_temperature_c,
        "end_collected_volume_l": end_collected_volume_l,
    }
    way = way_to_end(charge, pressure_hpa, ends)
    run = trajectory(charge, way, pressure_hpa)
    left = left_in_pot(charge, way)
    coolest = float(run.pot_temperature_c[0])
    warm = _warm_up(
        volume_l, abv, pressure_hpa, start_temperature_c, power_kw, heat_loss_kw, coolest
    )
    boiling = float(run.boiling_kwh[-1])
    collected = float(run.collected_volume_l[-1])
    recovered = float(run.collected_ethanol_kg[-1])
    return SimpleDistillation(
        collected_volume_l=collected,
        collected_abv=float(run.collected_abv[-1]),
        residue_volume_l=left.volume_l(20.0),
        residue_abv=float(run.pot_abv[-1]),
        recovery=recovered / charge.ethanol_kg,
        pure_alcohol_l=recovered / density(1.0, 20.0) * 1000.0,
        first_spout_abv=float(run.spout_abv[0]),
        last_spout_abv=float(run.spout_abv[-1]),
        pot_temperature_start_c=float(run.pot_temperature_c[0]),
        pot_temperature_end_c=float(run.pot_temperature_c[-1]),
        heat_up_kwh=warm.energy_kwh - warm.lost_kwh,
        boiling_kwh=boiling,
        heat_up_min=None if power_kw is None else warm.duration_min,
        boiling_h=None if power_kw is None else boiling / net_power(power_kw, heat_loss_kw),
    )


def _warm_up(
    volume_l: float,
    abv: float,
    hpa: float,
    start_c: float,
    power_kw: float | None,
    loss_kw: float,
    boils_c: float,
) -> HeatUp:
    """Return the way to boiling. Without a power losses have no time: any gives the same energy."""
    power, loss = (1.0, 0.0) if power_kw is None else (power_kw, loss_kw)
    loss_w_k = loss * 1000.0 / (boils_c - _ROOM_C)
    return heat_up(
        volume_l,
        abv,
        power,
        start_c,
        pressure_hpa=hpa,
        heat_loss_w_k=loss_w_k,
        room_temperature_c=_ROOM_C,
    )


def simple_distillation_line(
    volume_l: float,
    abv: float,
    pressure_hpa: float,
    end_spout_abv: float | None = None,
    end_pot_abv: float | None = None,
    end_pot_temperature_c: float | None = None,
    end_collected_volume_l: float | None = None,
) -> dict[str, FloatArray]:
    """Return spout, pot and all collected against the volume collected."""
    ends = {
        "end_spout_abv": end_spout_abv,
        "end_pot_abv": end_pot_abv,
        "end_pot_temperature_c": end_pot_temperature_c,
        "end_collected_volume_l": end_collected_volume_l,
    }
    charge = Mixture.of_volume(volume_l, abv)
    run = trajectory(charge, way_to_end(charge, pressure_hpa, ends), pressure_hpa)
    some = distinct(np.linspace(0, len(run.pot_abv) - 1, _POINTS_OF_A_LINE).astype(int))
    return {
        "collected_volume_l": run.collected_volume_l[some],
        "spout_abv": run.spout_abv[some],
        "collected_abv": run.collected_abv[some],
        "pot_abv": run.pot_abv[some],
        "pot_temperature_c": run.pot_temperature_c[some],
    }


def way_to_end(charge: Mixture, hpa: float, ends: dict[str, float | None]) -> BoilDown:
    """Return the way to the one end given."""
    given = {name: value for name, value in ends.items() if value is not None}
    if len(given) != 1:
        raise QuantityError(
            f"A run ends once: give one of {', '.join(ends)}; {len(given)} are given.",
            quantity=next(iter(given or ends)),
        )
    ((name, value),) = given.items()
    return boil_mixture_down(charge, hpa, _FIND_END[name](charge, value, hpa))


def _mole_fraction(charge: Mixture) -> float:
    return mole_fraction_from_abw(charge.abw_fraction)


def _end_by_spout(charge: Mixture, abv: float, hpa: float) -> float:
    first = abv_from_mole_fraction(vapour_over(_mole_fraction(charge), hpa))
    if abv >= first:
        raise _not_on_the_way(
            "end_spout_abv", END_SPOUT_ABV, abv, f"the spout begins at {first:.2f}"
        )
    return liquid_under(mole_fraction_from_abv(abv), hpa)


def _end_by_pot(charge: Mixture, abv: float, _hpa: float) -> float:
    first = abv_from_mole_fraction(_mole_fraction(charge))
    if abv >= first:
        raise _not_on_the_way("end_pot_abv", END_POT_ABV, abv, f"the charge has {first:.2f}")
    return mole_fraction_from_abv(abv)


def _end_by_temperature(charge: Mixture, temperature_c: float, hpa: float) -> float:
    coolest = bubble_point(_mole_fraction(charge), hpa)
    hottest = water_boiling_point(hpa)
    if not coolest < temperature_c < hottest:
        raise _not_on_the_way(
            "end_pot_temperature_c",
            END_POT_TEMPERATURE,
            temperature_c,
            f"this charge boils from {coolest:.2f} to just below {hottest:.2f}",
        )
    return float(raw_liquid_at(temperature_c + ZERO_C, hpa))


def _end_by_volume(charge: Mixture, wanted_l: float, hpa: float) -> float:
    x_start = _mole_fraction(charge)

    def missing(depth: Any) -> float:
        way = boil_mixture_down(charge, hpa, x_start * float(np.exp(-depth)))
        left = left_in_pot(charge, way)
        drawn = litres(charge.ethanol_kg - left.ethanol_kg, charge.water_kg - left.water_kg)
        return wanted_l - float(drawn)

    deep = 1.0
    while missing(deep) > 0.0:
        if deep >= _DEEPEST:
            spent = f"the pot is spent after {wanted_l - missing(deep):.3f}"
            raise _not_on_the_way("end_collected_volume_l", END_VOLUME, wanted_l, spent)
        deep *= 2.0
    return x_start * float(np.exp(-root(missing, _SHALLOWEST, deep)))


_FIND_END: dict[str, Callable[[Mixture, float, float], float]] = {
    "end_spout_abv": _end_by_spout,
    "end_pot_abv": _end_by_pot,
    "end_pot_temperature_c": _end_by_temperature,
    "end_collected_volume_l": _end_by_volume,
}


def _not_on_the_way(name: str, quantity: Quantity, value: float, but: str) -> OutOfRangeError:
    return OutOfRangeError(
        f"{quantity.label} ({name}) is {value:g} {quantity.unit}, which is not on the way: "
        f"{but} {quantity.unit}.",
        quantity=name,
    )
