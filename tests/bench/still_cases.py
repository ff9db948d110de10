"""A kept plant run made a case of: what a distiller would know of it, and what is true."""

from dataclasses import dataclass, field

import numpy as np
from still_runs import COOL_C

from api.estimates.estimator import MEASURED_HPA, Step
from api.estimates.ground import (
    JarGround,
    Measured,
    ProbeGround,
    RunGround,
    SpoutReading,
    StillGround,
)
from calc.pressure import WEATHER_HPA
from calc.run_balance import boiling_table, logit
from logger.plant.fluid import fluid

ARM = 0.03  # what the arm of a still enriches beyond the head, logit; the plant has none
JARS = 12
COUNT_K = 1.0 / 16.0
# Errors of the charge: of its volume, as a share, and of its strength, % vol. By marks on the pot
# and a hydrometer's two gravities; and on a scale, and by a sample distilled and weighed. Common
# practice, no source.
BY_HYDROMETER = 0.01, 0.2
WEIGHED = 0.003, 0.1


@dataclass(frozen=True, slots=True)
class Knows:
    """What is known of a run; None is drawn."""

    calibrated: bool | None = None
    pressure: str | None = None  # measured, height, none
    charge: bool | None = None
    power: bool | None = None
    readings: int | None = None
    jars: bool | None = None
    arm: bool = True
    charge_error: tuple[float, float] = BY_HYDROMETER


@dataclass(slots=True)
class Case:
    """One run as it is told to the estimator, and its truth."""

    still: StillGround
    run: RunGround
    probes: dict[str, ProbeGround]
    steps: list[Step]
    truth: dict[str, np.ndarray]
    boil: int = 0  # indices of steps
    drop: int = 0
    off: int = 0
    knows: Knows = field(default_factory=Knows)


def case(columns: dict[str, np.ndarray], about: dict, knows: Knows, salt: int = 0) -> Case:
    """Make a case of a run; the same for the same run, knowledge and salt."""
    dice = np.random.default_rng([about["seed"], salt, about["kind"] == "strip"])
    drawn = Knows(
        calibrated=_or(knows.calibrated, dice.random() < 0.5),
        pressure=_or(knows.pressure, dice.choice(["measured", "measured", "height", "none"])),
        charge=_or(knows.charge, dice.random() < 0.85),
        power=_or(knows.power, dice.random() < 0.6),
        readings=_or(knows.readings, int(dice.choice([0, 0, 1, 3, 5]))),
        jars=_or(knows.jars, dice.random() < 0.5),
        arm=knows.arm,
        charge_error=knows.charge_error,
    )
    slots = np.round(columns["t_s"]).astype(int) + 1_800_000_000
    off = int(np.flatnonzero(columns["power_w"] > 0.0)[-1]) + 1
    off = min(off, len(slots) - 1)  # a run that is heated to its last step
    drop = int(np.argmax(columns["collected_l"] > 0.01))
    boil = int(np.argmax(columns["vapour_mol_s"] > 1e-3))
    error_c = 0.05 if drawn.calibrated else 0.25
    probes = {place: ProbeGround(drawn.calibrated, error_c) for place in ("pot", "head")}
    arm = _arm(columns, about, ARM * dice.normal() * drawn.arm)
    steps = _steps(columns, about, drawn, (arm, error_c), dice, slots)
    run = _run(columns, about, drawn, dice, slots, (drop, off))
    made = StillGround(
        volume_l=about["volume_l"],
        heat_source=about["heat_source"],
        power_w=float(columns["power_w"].max()) * 1.2,
        has_reflux=about["reflux"],
        head_after_reflux=about["head_probe"] == "after_reflux" if about["reflux"] else None,
    )
    truth = _truth(columns, about, arm, (boil, drop, off))
    return Case(made, run, probes, steps, truth, boil, drop, off, drawn)


def _or(given, drawn):
    return drawn if given is None else given


def _steps(columns, about, knows, off, dice, slots) -> list[Step]:
    arm, error_c = off
    head = columns["head"] + _arm_k(columns, arm)
    shown = {"pot": columns["pot"], "head": head, "room": columns["room"]}
    shown |= {place: columns[place] for place in ("coolant_in", "coolant_out", "spout")}
    for place, values in shown.items():
        wrong = values + dice.normal(0.0, error_c)
        noise = dice.normal(0.0, about["noise_c"], (len(values), 10))
        counts = np.round((wrong[:, None] + noise) / COUNT_K)
        shown[place] = counts.mean(axis=1) * COUNT_K
    hpa = np.round(columns["pressure_hpa"] * 16.0) / 16.0 + dice.normal(0.0, 0.5)
    if knows.pressure == "height":
        hpa = np.full(len(hpa), float(columns["pressure_hpa"].mean() + dice.normal(0.0, 7.0)))
    return [
        Step(
            int(slot),
            {place: float(values[i]) for place, values in shown.items()},
            None if knows.pressure == "none" else float(hpa[i]),
            "altitude" if knows.pressure == "height" else "barometer",
            WEATHER_HPA if knows.pressure == "height" else MEASURED_HPA,
        )
        for i, slot in enumerate(slots)
    ]


def _arm(columns, about, drawn: float) -> np.ndarray:
    """Give what an arm enriches: no more than what the pot's own vapour leaves to it."""
    boiling, plant, x = boiling_table(1000.0), fluid(), np.linspace(1e-3, 0.86, 300) ** 2
    pot = np.interp(np.clip(columns["pot_abv"], 0.05, 96.0), boiling.abv, boiling.root**2)
    under = np.interp(pot, x, [plant.boil(v, 1000.0).vapour for v in x])
    head, _ = _before_arm(_at_probe_abv(columns, about), 0.0)
    return np.minimum(drawn, np.maximum(logit(head) - logit(under), 0.0))


def _arm_k(columns, arm: np.ndarray) -> np.ndarray:
    """Give how much warmer a head is whose vapour the arm enriches by a logit of so much."""
    boiling = boiling_table(1000.0)
    y, shifted = _before_arm(columns["spout_abv"], arm)
    both = (boiling.temperature_c(boiling.liquid_under(v)) for v in (shifted, y))
    after, before = both
    return np.where(columns["spout_abv"] > 0.0, after - before, 0.0)


def _before_arm(abv: np.ndarray, arm: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    """Give mole fractions, and what they were before an arm enriched them."""
    boiling = boiling_table(1000.0)
    y = np.interp(np.clip(abv, 0.2, 96.0), boiling.abv, boiling.root**2)
    return y, 1.0 / (1.0 + (1.0 - y) / y * np.exp(arm))


def _at_head_abv(columns, about, arm: np.ndarray) -> np.ndarray:
    """Give the strength of the vapour at the head's probe, which the arm has not enriched yet."""
    abv = _at_probe_abv(columns, about)
    found = boiling_table(1000.0).strength_abv(_before_arm(abv, arm)[1])
    return np.where(abv > 0.0, found, 0.0)


def _at_probe_abv(columns, about) -> np.ndarray:
    """Give the strength of the vapour at the head's probe, of a still whose arm does nothing.

    A probe below the reflux condenser sees another vapour than the spout's; the plant's own
    equilibrium says which, from its true temperature there.
    """
    abv = columns["spout_abv"]
    if about["stages"] and about["head_probe"] == "before_reflux":
        abv = np.where(abv > 0.0, _over_boiling(columns["head"], columns["still_hpa"]), 0.0)
    return abv


def _over_boiling(celsius: np.ndarray, hpa: np.ndarray) -> np.ndarray:
    """Give the strength of the vapour over what boils at a temperature and a pressure."""
    plant, x = fluid(), np.linspace(0.0, 0.86, 300) ** 2  # up to near the azeotrope
    low, high = (np.array([plant.boil(v, p)[:2] for v in x]).T for p in (950.0, 1050.0))
    at_1000, k_hpa = (low[0] + high[0]) / 2.0, (high[0] - low[0]) / 100.0
    found, y = np.full(len(hpa), 0.1), (low[1] + high[1]) / 2.0
    for _ in range(3):
        brought = celsius - (hpa - 1000.0) * np.interp(found, x, k_hpa)
        found = np.interp(-brought, -at_1000, x)
    return np.array([plant.abv(float(v)) for v in np.interp(found, x, y)])


def _run(columns, about, knows, dice, slots, ends) -> RunGround:
    drop, off = ends
    volume = abv = None
    if knows.charge:
        share, abv_error = knows.charge_error
        volume_error = about["charge_l"] * share
        volume = Measured(about["charge_l"] + dice.normal(0.0, volume_error), volume_error)
        abv = Measured(about["charge_abv"] + dice.normal(0.0, abv_error), abv_error)
    powers = ()
    if knows.power:
        changes = [0, *(np.flatnonzero(np.diff(columns["power_w"])) + 1)]
        powers = tuple((int(slots[i]), float(columns["power_w"][i])) for i in changes)
    return RunGround(
        run_id="bench",
        purpose=about["kind"],
        from_slot=int(slots[0]),
        charge_volume_l=volume,
        charge_abv=abv,
        spout=_readings(columns, knows, dice, slots, ends),
        jars=_jars(columns, about, dice, slots, ends) if knows.jars else (),
        powers_w=powers,
        first_drop_slot=int(slots[drop]) if dice.random() < 0.5 else None,
        end_abv=round(float(columns["spout_abv"][off - 1]), 2) or None,  # None: it ran dry
    )


def _readings(columns, knows, dice, slots, ends) -> tuple[SpoutReading, ...]:
    drop, off = ends
    at = sorted(dice.integers(drop + 30, off, knows.readings))
    if knows.readings == 3:
        at = [int(drop + 30 + (off - drop - 30) * part) for part in (0.05, 0.35, 0.65)]
    found = []
    for i in at:
        abv = float(columns["spout_abv"][i])
        found.append(SpoutReading(int(slots[i]), Measured(abv + dice.normal(0.0, 0.3), 0.3)))
    return tuple(found)


def _jars(columns, about, dice, slots, ends) -> tuple[JarGround, ...]:
    """Give jars of a twelfth of what comes over, each filled to nine tenths."""
    drop, off = ends
    litres, pure = columns["collected_l"], columns["collected_pure_l"]
    size = float(litres[off]) / JARS
    found, begin = [], drop
    while begin < off:
        end = int(np.searchsorted(litres, litres[begin] + size))
        end = min(end, off)
        volume = float(litres[end] - litres[begin])
        if volume <= 0.05 * size:
            break
        abv = 100.0 * float(pure[end] - pure[begin]) / volume
        found.append(
            JarGround(
                int(slots[begin]),
                int(slots[end]),
                Measured(volume * (1 + dice.normal(0.0, 0.01)), 0.01 * volume),
                Measured(abv + dice.normal(0.0, 0.3), 0.3),
                size / 0.9,
            )
        )
        begin = end
    return tuple(found)


def _truth(columns, about, arm, ends) -> dict[str, np.ndarray]:
    boil, drop, off = ends
    t = columns["t_s"]
    litres, pure = columns["collected_l"], columns["collected_pure_l"]
    minutes = lambda i: (t[i] - t) / 60.0  # noqa: E731
    cool = off + int(np.argmax(columns["pot"][off:] < COOL_C))
    nothing = np.full(len(t), np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        collected_abv = 100.0 * pure / litres
    truth = {
        "pot_abv": columns["pot_abv"],
        "vapour_abv": _at_head_abv(columns, about, arm),
        "spout_abv": columns["spout_abv"],
        "alcohol_left_l": columns["pot_pure_l"],
        "alcohol_recovered_l": pure,
        "recovered_percent": 100.0 * pure / about["charge_pure_l"],
        "collected_l": litres,
        "collected_abv": collected_abv,
        "rate_ml_min": _mean(1000.0 * columns["spout_l_min"], 12, columns["power_w"]),
        "heat_w": _mean(columns["heat_w"], 60, columns["power_w"]),
        "minutes_to_boil": minutes(boil),
        "minutes_to_first_drop": minutes(drop),
        "minutes_to_end": minutes(off),
        "end_collected_l": np.full(len(t), litres[off]),
        "end_collected_abv": np.full(len(t), 100.0 * pure[off] / litres[off]),
        "minutes_to_pot_below_50_c": minutes(cool) if cool > off else nothing,
    }
    if about["kind"] == "spirit":
        tails = tails_at(columns, off)
        began = int(np.argmax(pure >= 0.115 * about["charge_pure_l"]))
        hearts = litres[tails] - litres[began] if tails else np.nan
        truth["hearts_l"] = np.full(len(t), max(hearts, 0.0))
    return truth


def tails_at(columns, off: int, abv: float = 60.0) -> int:
    """Give the step at which the spout falls to where tails begin; 0 where it never does."""
    spout = columns["spout_abv"][:off]
    above = np.flatnonzero(spout > abv)
    return int(above[-1]) + 1 if len(above) and above[-1] + 1 < off else 0


def _mean(values: np.ndarray, steps: int, power_w: np.ndarray) -> np.ndarray:
    """Give means over what a switching control does, but not over a change of its power."""
    found = values.copy()
    for part in np.split(np.arange(len(values)), np.flatnonzero(np.diff(power_w)) + 1):
        width = min(steps, len(part))
        summed, counted = (
            np.convolve(of, np.ones(width), mode="same")
            for of in (values[part], np.ones(len(part)))
        )
        found[part] = summed / counted
    return found
