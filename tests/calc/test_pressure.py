"""Vapour pressures against the standard and against general libraries; the standard atmosphere."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import iapws97
from scipy.optimize import brentq

from calc.errors import OutOfRangeError
from calc.pressure import (
    absolute_hpa,
    ethanol_boiling_point,
    ethanol_vapour_pressure,
    pressure_at_altitude,
    water_boiling_k,
    water_boiling_point,
    water_hpa,
    water_vapour_pressure,
)


@pytest.mark.parametrize(
    ("kelvin", "mpa"), [(300, 0.353658941e-2), (500, 0.263889776e1), (600, 0.123443146e2)]
)
def test_water_pressure_is_the_standards_own_table(kelvin, mpa):
    # IAPWS R7-97(2012), table 35.
    assert water_hpa(kelvin) / 1e4 == pytest.approx(mpa, rel=5e-9)


@pytest.mark.parametrize(
    ("mpa", "kelvin"), [(0.1, 0.372755919e3), (1, 0.453035632e3), (10, 0.584149488e3)]
)
def test_water_temperature_is_the_standards_own_table(mpa, kelvin):
    # IAPWS R7-97(2012), table 36.
    assert water_boiling_k(mpa * 1e4) == pytest.approx(kelvin, rel=5e-9)


def test_water_agrees_with_a_general_library_over_the_range():
    # The `iapws` library's region 4.
    hpa = np.linspace(120, 1400, 60)
    theirs = [iapws97._TSat_P(p / 1e4) - 273.15 for p in hpa]
    assert np.abs(water_boiling_point(hpa) - theirs).max() < 1e-9
    celsius = np.linspace(50, 109, 60)
    theirs = [iapws97._PSat_T(t + 273.15) * 1e4 for t in celsius]
    assert np.abs(water_vapour_pressure(celsius) / theirs - 1).max() < 1e-12


def test_steam_point_formula_of_thermometry():
    # t = 99.974 + 28.0216 x - 11.642 x^2 + 7.1 x^3, x = p/1013.25 - 1 (from memory).
    hpa = np.linspace(950, 1050, 21)
    x = hpa / 1013.25 - 1
    formula = 99.974 + 28.0216 * x - 11.642 * x**2 + 7.1 * x**3
    assert np.abs(water_boiling_point(hpa) - formula).max() < 0.001


def test_ethanol_uses_the_constants_of_poling(poling_ethanol):
    # Poling et al. (2001), as tabulated in the `chemicals` library.
    row = poling_ethanol
    for celsius in (30, 60, 78.287, 100):
        reduced = (celsius + 273.15) / row["Tc"]
        s = 1 - reduced
        terms = row["A"] * s + row["B"] * s**1.5 + row["C"] * s**2.5 + row["D"] * s**5
        theirs = row["Pc"] * np.exp(terms / reduced)
        assert ethanol_vapour_pressure(celsius) * 100 == pytest.approx(theirs, rel=1e-12)


def test_ethanol_boils_as_measured_and_a_general_library_is_high_by_its_known_offset(flash):
    # Normal boiling point 78.29 C (CRC Handbook, from memory). The `thermo` library's default
    # equation boils 0.13 K high: that is theirs, not ours.
    assert ethanol_boiling_point(1013.25) == pytest.approx(78.29, abs=0.02)
    theirs = flash.correlations.VaporPressures[0]
    boils = brentq(lambda t: theirs(t) - 101325.0, 340, 360) - 273.15
    assert boils - ethanol_boiling_point(1013.25) == pytest.approx(0.134, abs=0.01)


def test_weather_moves_a_boiling_point_by_what_is_said():
    # Computed figures of the trade: water 0.0277 K/hPa, ethanol 0.0248 K/hPa at 1013 hPa.
    for boils, slope in ((water_boiling_point, 0.0277), (ethanol_boiling_point, 0.0248)):
        assert boils(1013.75) - boils(1012.75) == pytest.approx(slope, abs=2e-4)


@pytest.mark.parametrize(
    ("altitude_m", "hpa"),
    [(0, 1013.25), (500, 954.61), (1000, 898.75), (2000, 794.95), (3000, 701.09), (4000, 616.40)],
)
def test_pressure_at_altitude_is_the_standard_atmosphere(altitude_m, hpa):
    # ISO 2533:1975, table by geopotential altitude; 1000 m handed over, the others from memory.
    assert pressure_at_altitude(altitude_m) == pytest.approx(hpa, abs=0.006)


def test_water_at_1000_m():
    assert water_boiling_point(pressure_at_altitude(1000)) == pytest.approx(96.65, abs=0.01)


def test_reported_pressure_comes_down_to_the_station():
    assert pressure_at_altitude(0.0, 990.0) == pytest.approx(990.0, abs=1e-9)
    lower = pressure_at_altitude(1000.0, 990.0)
    # Near enough in proportion: the same atmosphere, begun a little higher.
    assert lower == pytest.approx(898.75 * 990.0 / 1013.25, abs=2.0)
    assert lower < pressure_at_altitude(1000.0, 1013.25)


@given(st.floats(120, 1400))
def test_pressure_and_temperature_are_inverses(hpa):
    assert water_vapour_pressure(water_boiling_point(hpa)) == pytest.approx(hpa, rel=1e-11)
    assert ethanol_vapour_pressure(ethanol_boiling_point(hpa)) == pytest.approx(hpa, rel=1e-11)


def test_out_of_range_is_refused_by_name():
    with pytest.raises(OutOfRangeError, match=r"pressure_hpa.*between 120 and 1400 hPa\.$"):
        water_boiling_point(1500.0)
    with pytest.raises(OutOfRangeError, match=r"pressure_hpa.*between 600 and 1100 hPa\.$"):
        pressure_at_altitude(4500.0, 950.0)
    with pytest.raises(OutOfRangeError, match=r"pressure_hpa \+ gauge_pressure_hpa.*120 and 1400"):
        absolute_hpa(1000.0, -950.0)
