"""Boiling ethanol and water against published measurements and a general library."""

import csv
import importlib.util
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import activity, equilibrium
from calc.boiling import azeotrope_at, boiling_lines, boiling_point
from calc.boiling import dew_point as dew_point_of_strength
from calc.catalogue import calculate
from calc.equilibrium import (
    azeotrope,
    bubble_point,
    dew_point,
    liquid_under,
    raw_azeotrope,
    raw_bubble_k,
    raw_liquid_at,
    raw_log_gammas,
    raw_partial_hpa,
    raw_vapour,
    vapour_over,
)
from calc.errors import OutOfRangeError
from calc.pressure import ethanol_boiling_point, water_boiling_point

TESTS = Path(__file__).parents[1]
ATMOSPHERE = 1013.25

pressures = st.floats(600, 1100)
fractions = st.floats(0, 1)


def table(name: str) -> dict[str, np.ndarray]:
    lines = (TESTS / "data" / name).read_text().splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    columns = ("pressure_kpa", "temperature_c", "x", "y")
    return {c: np.array([float(r[c]) for r in rows]) for c in columns if c in rows[0]}


def rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def boiling_misses(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    data = table(name)
    hpa = data["pressure_kpa"] * 10
    return (
        data["x"],
        bubble_point(data["x"], hpa) - data["temperature_c"],
        vapour_over(data["x"], hpa) - data["y"],
    )


def pressure_misses(name: str) -> np.ndarray:
    data = table(name)
    total = sum(raw_partial_hpa(data["x"], data["temperature_c"] + 273.15))
    return total / (data["pressure_kpa"] * 10) - 1


def test_boiling_points_and_vapour_of_kamihama():
    # Kamihama et al. (2012), J. Chem. Eng. Data 57, 339, 101.3 kPa, every second row.
    _, t, y = boiling_misses("vle_kamihama_2012_101kPa_part.csv")
    assert rms(t) <= 0.10
    assert np.abs(t).max() <= 0.25
    assert rms(y) <= 0.006


def test_boiling_points_and_vapour_of_carey_and_lewis():
    # Carey & Lewis (1932), Ind. Eng. Chem. 24, 882; temperatures at the dilute end read high
    # against every later table, so they are asked for at x >= 0.3 only.
    x, t, y = boiling_misses("vle_carey_lewis_1932_101kPa.csv")
    assert rms(t[x >= 0.3]) <= 0.2
    assert rms(y) <= 0.008


def test_pressure_over_liquid_at_90_c():
    # Wichterle et al., Landolt-Boernstein compilation, 90 C.
    assert rms(pressure_misses("px_90C.csv")) <= 0.005


def test_pressure_over_liquid_at_50_c():
    # Wichterle et al., Landolt-Boernstein compilation, 50 C.
    assert rms(pressure_misses("px_50C.csv")) <= 0.010


def test_pressure_over_liquid_at_30_c():
    # Pemberton & Mash (1978), doi 10.1016/0021-9614(78)90160-X; their y follows from P and x.
    assert rms(pressure_misses("vle_pemberton_mash_1978_30C.csv")) <= 0.005
    data = table("vle_pemberton_mash_1978_30C.csv")
    ethanol, water = raw_partial_hpa(data["x"], 303.15)
    assert rms(ethanol / (ethanol + water) - data["y"]) <= 0.005


def test_azeotrope_at_the_standard_atmosphere():
    # Horsley, Azeotropic Data III (1973), 78.15 C and x = 0.894; Kamihama (2012) 78.11 C and
    # 0.905; Evans (1916) 95.6 % mass.
    found = azeotrope_at(ATMOSPHERE)
    assert 0.890 <= found.ethanol_mole_fraction <= 0.905
    assert 78.05 <= found.temperature_c <= 78.20
    assert found.abw_fraction == pytest.approx(0.956, abs=0.003)
    assert found.abv == pytest.approx(97.2, abs=0.15)


@pytest.mark.parametrize(("hpa", "x", "celsius"), [(700, 0.907, 69.1), (1050, 0.894, 79.0)])
def test_azeotrope_moves_with_pressure_as_expected(hpa, x, celsius):
    # Figures of another fit to the same sources; +- 0.005 in x.
    assert azeotrope(hpa) == pytest.approx(x, abs=0.005)
    assert bubble_point(azeotrope(hpa), hpa) == pytest.approx(celsius, abs=0.1)


def test_azeotrope_at_90_c():
    # Pemberton & Mash (1978), highest pressure at 90 C near x = 0.899: 158.9 kPa.
    assert float(raw_azeotrope(1589.0)) == pytest.approx(0.899, abs=0.006)
    assert float(raw_bubble_k(0.899, 1589.0)) - 273.15 == pytest.approx(90.0, abs=0.1)


def test_one_azeotrope_and_vapour_that_grows_richer_with_the_liquid():
    x = np.linspace(0, 1, 4001)
    for hpa in (120, 200, 400, *range(600, 1101, 50), 1250, 1400):
        y = raw_vapour(x, hpa)
        assert (np.diff(y) > 0).all(), hpa
        assert np.count_nonzero(np.diff(np.sign(y[1:-1] - x[1:-1]))) == 1, hpa


def test_parameters_are_those_the_script_fits():
    # Anyone can refit: the same data and script give the numbers that are kept.
    spec = importlib.util.spec_from_file_location("fit", TESTS / "fit" / "equilibrium.py")
    assert spec
    assert spec.loader
    fit = importlib.util.module_from_spec(spec)
    kept = equilibrium._COEFFICIENTS
    try:
        spec.loader.exec_module(fit)
        fitted = fit.split(fit.fit(fit.SOURCES))
        for ours, theirs in zip((activity.A, activity.B, activity.C), fitted, strict=True):
            assert np.abs(np.array(ours) - theirs).max() < 1e-4
        # What it is worth: measurements it has not seen.
        unseen = fit.SOURCES[1]
        assert "Kamihama" in unseen.title
        fit.use(fit.fit(tuple(s for s in fit.SOURCES if s is not unseen)))
        misses = fit.misses(unseen)
        assert rms(misses["T, K"][0]) <= 0.10
        assert rms(misses["y"][0]) <= 0.006
    finally:
        equilibrium._COEFFICIENTS = kept
        equilibrium._azeotrope_of_one.cache_clear()


def test_a_general_library_agrees_but_for_its_known_offsets(flash):
    # `thermo` with ChemSep's NRTL parameters. Its ethanol boils 0.134 K high; from the middle down
    # its parameters compensate for that, and at the dilute end they follow temperatures like Carey
    # & Lewis's, up to 0.8 K high.
    for x, allowed_k, allowed_y in (
        (0.02, 0.85, 0.03),
        (0.1, 0.6, 0.012),
        (0.25, 0.15, 0.012),
        (0.5, 0.15, 0.012),
        (0.7, 0.15, 0.012),
        (0.9, 0.15, 0.012),
        (0.98, 0.15, 0.012),
    ):
        theirs = flash.flash(P=101325.0, VF=0.0, zs=[x, 1 - x])
        assert abs(theirs.T - 273.15 - bubble_point(x, ATMOSPHERE)) <= allowed_k
        assert theirs.gas.zs[0] == pytest.approx(vapour_over(x, ATMOSPHERE), abs=allowed_y)
    nearly_pure = flash.flash(P=101325.0, VF=0.0, zs=[0.9999, 0.0001])
    assert nearly_pure.T - 273.15 - bubble_point(0.9999, ATMOSPHERE) == pytest.approx(
        0.134, abs=0.01
    )


@given(st.floats(0.001, 0.999), st.floats(303.15, 380.0))
def test_activity_coefficients_obey_gibbs_and_duhem(x, kelvin):
    step = 1e-5 * min(x, 1 - x)
    above, below = raw_log_gammas(x + step, kelvin), raw_log_gammas(x - step, kelvin)
    ethanol, water = ((a - b) / (2 * step) for a, b in zip(above, below, strict=True))
    assert x * ethanol + (1 - x) * water == pytest.approx(0.0, abs=1e-6)


@given(pressures)
def test_ends_are_the_pure_liquids(hpa):
    assert bubble_point(0.0, hpa) == pytest.approx(water_boiling_point(hpa), abs=1e-8)
    assert bubble_point(1.0, hpa) == pytest.approx(ethanol_boiling_point(hpa), abs=1e-8)
    assert vapour_over(0.0, hpa) == 0.0
    assert vapour_over(1.0, hpa) == pytest.approx(1.0, abs=1e-12)


@given(fractions, pressures)
def test_bubble_and_dew_meet(x, hpa):
    y = min(1.0, vapour_over(x, hpa))
    assert liquid_under(y, hpa) == pytest.approx(x, abs=1e-9)
    assert dew_point(y, hpa) == pytest.approx(bubble_point(x, hpa), abs=1e-7)


@given(st.floats(1e-6, 0.85), pressures)
def test_liquid_is_found_by_its_temperature(x, hpa):
    kelvin = bubble_point(x, hpa) + 273.15
    assert float(raw_liquid_at(kelvin, hpa)) == pytest.approx(x, abs=1e-7)


def test_arrays_are_taken_element_by_element():
    x, hpa = np.array([0.0, 0.2, 0.8]), np.array([700.0, 900.0, 1050.0])
    many = bubble_point(x, hpa)
    assert many.shape == (3,)
    one_by_one = [bubble_point(float(a), float(b)) for a, b in zip(x, hpa, strict=True)]
    assert many == pytest.approx(one_by_one, abs=1e-9)
    assert azeotrope(hpa) == pytest.approx([azeotrope(float(p)) for p in hpa], abs=1e-9)


def test_strengths_at_the_entrance():
    # Kamihama et al. (2012): x = 0.09 boils at 86.55 C to y = 0.441, that is 24.8 and 74.1 % vol.
    found = calculate("boiling-point", abv=24.77, pressure_hpa=1013.0)
    assert found["temperature_c"] == pytest.approx(86.55, abs=0.2)
    assert found["vapour_abv"] == pytest.approx(74.1, abs=1.0)
    assert boiling_point(0.0, ATMOSPHERE).vapour_abv == 0.0
    back = dew_point_of_strength(found["vapour_abv"], 1013.0)
    assert back.liquid_abv == pytest.approx(24.77, abs=1e-6)


def test_vacuum_and_liquid_seal_move_the_boiling_point():
    seal = boiling_point(9.0, 1000.0, 20.0)
    assert seal.temperature_c == pytest.approx(boiling_point(9.0, 1020.0).temperature_c, abs=1e-9)
    assert boiling_point(9.0, 1000.0, -800.0).temperature_c < 60
    with pytest.raises(OutOfRangeError, match="between 120 and 1400 hPa"):
        boiling_point(9.0, 1000.0, -900.0)


def test_lines_touch_at_the_azeotrope_and_the_ends():
    lines = boiling_lines(ATMOSPHERE)
    gap = lines["condenses_c"] - lines["boils_c"]
    assert (gap > -1e-3).all()
    assert lines["abv"][np.argmin(lines["boils_c"])] == pytest.approx(97.25, abs=0.3)
    assert gap[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-6)


@pytest.mark.parametrize(
    ("function", "arguments", "limit"),
    [
        (bubble_point, (1.1, 1000.0), "between 0 and 1 mol/mol"),
        (vapour_over, (0.5, 100.0), "between 120 and 1400 hPa"),
        (dew_point, (-0.1, 1000.0), "between 0 and 1 mol/mol"),
        (azeotrope, (float("nan"),), "between 120 and 1400 hPa"),
        (azeotrope, (np.array([1000.0, 5000.0]),), "5000 hPa"),
    ],
)
def test_out_of_range_is_refused(function, arguments, limit):
    with pytest.raises(OutOfRangeError, match=limit):
        function(*arguments)
