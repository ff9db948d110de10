"""Density and strength against the published tables, and round trips."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.alcoholometer import (
    expected_reading,
    obscured_strength,
    strength_from_density,
    strength_from_weighing,
    true_strength,
    true_strength_curve,
)
from calc.alcoholometry import (
    SIXTY_F,
    abv_from_abw,
    abv_from_mole_fraction,
    abw_from_abv,
    abw_from_density,
    abw_from_mole_fraction,
    density,
    mole_fraction_from_abv,
    mole_fraction_from_abw,
)
from calc.catalogue import calculate
from calc.contents import (
    contents_by_volume,
    contents_by_weight,
    us_proof_gallons,
    weight_in_air,
)
from calc.errors import OutOfRangeError
from calc.mixture import Mixture
from calc.oiml_r22 import RHO
from calc.strength import (
    strength_from_abv,
    strength_from_abw,
    strength_from_mole_fraction,
    strength_from_us_proof,
)

DATA = Path(__file__).parents[1] / "data"
LB_KG = 0.45359237

abws = st.floats(0, 1)
abvs = st.floats(0, 100)
temperatures = st.floats(-20, 40)
references = st.floats(10, 30)


def _rows(name: str) -> list[dict[str, str]]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def _column(rows: list[dict[str, str]], name: str) -> np.ndarray:
    return np.array([float(row[name]) for row in rows])


# International tables after OIML R 22 (1975), 20 C: table values from memory, the formula agrees.
@pytest.mark.parametrize(
    ("abv", "expected"),
    [(0, 998.20), (40, 948.05), (50, 930.14), (96, 807.42), (100, 789.24)],
)
def test_density_has_the_digits_of_the_international_tables(abv, expected):
    abw = abw_from_abv(float(abv))
    found = calculate("density", abw_fraction=abw, temperature_c=20.0)
    assert found == {"density_kg_m3": pytest.approx(expected, abs=0.005)}


def test_density_has_the_formulas_own_digits():
    # OIML R 22 (1975), formula written out term by term with the coefficients of its table.
    p, t = 0.4321, 7.5
    a = sum(RHO[0][k] * p**k for k in range(12))
    b = sum(RHO[n][0] * (t - 20) ** n for n in range(1, 7))
    c = sum(RHO[n][k] * p**k * (t - 20) ** n for n in range(1, 6) for k in range(1, len(RHO[n])))
    assert density(p, t) == pytest.approx(a + b + c, abs=1e-9)
    assert [len(row) for row in RHO] == [12, 12, 11, 10, 5, 3, 1]


def test_density_against_bureau_of_standards_1913():
    # Osborne, McKelvy & Bearce, Bulletin of the US Bureau of Standards 9 (1913), 45-85 % mass.
    rows = _rows("density_nbs_1913_45_to_85_percent_mass.csv")
    abw = _column(rows, "mass_pct") / 100
    off = np.array(
        [
            _column(rows, f"t{t}") * 999.972 - density(abw, float(t))
            for t in (10, 15, 20, 25, 30, 35, 40)
        ]
    )
    assert np.sqrt(np.mean(off**2)) <= 0.034
    assert np.abs(off).max() <= 0.1


def test_density_of_water_against_iapws():
    # IAPWS-95 through the general library `iapws`; R 22 is known to lie 0.003-0.007 kg/m3 low.
    from iapws import IAPWS95  # noqa: PLC0415

    for t in (5.0, 15.0, 25.0, 35.0):
        reference = IAPWS95(T=t + 273.15, P=0.101325).rho
        assert density(0.0, t) == pytest.approx(reference, abs=0.02)


def test_density_falls_with_strength_at_every_temperature():
    # Else a density would not mean one strength.
    t = np.linspace(-20, 40, 121)[:, None]
    p = np.linspace(0, 1, 5001)[None, :]
    assert (np.diff(density(p, t), axis=1) < 0).all()


@pytest.mark.parametrize("row", _rows("usp29_alcoholometric_part.csv"), ids=lambda r: r["kind"])
def test_usp_alcoholometric_table(row):
    # USP 29-NF 24, after NBS Bulletin 9, 424-425; 60 F.
    given_, printed = float(row["in"]), float(row["out"])
    if row["kind"] == "v2w":
        assert 100 * abw_from_abv(given_, SIXTY_F) == pytest.approx(printed, abs=0.01)
    elif row["kind"] == "w2v":
        back = 100 * abw_from_abv(printed, SIXTY_F)
        assert back == pytest.approx(given_, abs=0.01)
    else:
        # Specific gravity in air, printed to four digits: within one of the last.
        air = 1.2226
        spirit, water = (
            density(abw, SIXTY_F) - air for abw in (abw_from_abv(given_, SIXTY_F), 0.0)
        )
        assert spirit / water == pytest.approx(printed, abs=1e-4)


def test_glass_alcoholometer_at_temperature():
    # Nineteenth-century table, Tralles basis (60 F); ISO 1768 for the glass.
    rows = _rows("alcoholometer_60F_part.csv")
    for row in rows:
        found = calculate(
            "true-strength",
            reading_abv=float(row["reading"]),
            temperature_c=(float(row["temperature_f"]) - 32) / 1.8,
            reference_temperature_c=15.56,
        )
        assert found["abv"] == pytest.approx(float(row["true_abv_60f"]), abs=0.2)


@pytest.mark.parametrize(("temperature", "abv"), [(15, 42.0), (20, 40.0), (25, 38.0), (30, 36.0)])
def test_reading_of_40_at_temperature(temperature, abv):
    # OIML R 22 and ISO 1768; remembered instrument tables agree.
    assert true_strength(40.0, float(temperature)).abv == pytest.approx(abv, abs=0.05)


def test_reading_at_the_instruments_temperature_is_the_strength():
    for base in (15.0, 15.56, 20.0):
        assert true_strength(40.0, base, base).abv == pytest.approx(40.0, abs=1e-9)
    assert true_strength(40.0, SIXTY_F, SIXTY_F).us_proof == pytest.approx(80.0, abs=1e-9)
    assert true_strength(40.0, 15.56, 15.56).abv_at_20_c == pytest.approx(40.07, abs=0.005)


def test_borosilicate_moves_less_than_soda_lime():
    soda, boro = (true_strength(40.0, 35.0, glass=g).abv for g in ("soda-lime", "borosilicate"))
    # 15e-6 /K over 15 K is 0.21 kg/m3, at 1.6 kg/m3 for one % vol.
    assert boro - soda == pytest.approx(-0.13, abs=0.02)


@given(
    st.floats(2, 95), st.floats(0, 35), references, st.sampled_from(["soda-lime", "borosilicate"])
)
def test_reading_and_true_strength_are_each_others_inverse(abv, temperature, base, glass):
    try:
        reading = expected_reading(abv, temperature, base, glass)
    except OutOfRangeError as off_scale:
        assert "off the scale" in str(off_scale)  # noqa: PT017
        return
    back = true_strength(reading, temperature, base, glass).abv_at_20_c
    assert back == pytest.approx(abv, abs=1e-8)


def test_readings_that_no_spirit_gives_are_refused():
    with pytest.raises(OutOfRangeError, match=r"between 0\.68 \(water\)"):
        true_strength(0.0, 25.0)
    with pytest.raises(OutOfRangeError, match=r"96\.39 \(ethanol\)"):
        true_strength(99.9, 0.0)
    with pytest.raises(OutOfRangeError, match="off the scale"):
        expected_reading(100.0, 30.0)


def test_cold_weak_spirit_has_one_strength():
    # Water is densest at 4 C; strength still falls steadily with density below that.
    for reading in (0.0, 0.5, 2.0):
        found = true_strength(reading, 1.0)
        assert 0 < found.abv < 4
        assert expected_reading(found.abv, 1.0) == pytest.approx(reading, abs=1e-8)


def test_curve_of_a_reading_agrees_with_the_number_and_breaks_where_there_is_none():
    drawn = true_strength_curve(0.5)
    at = list(drawn["temperature_c"]).index(10.0)
    assert drawn["abv"][at] == pytest.approx(true_strength(0.5, 10.0).abv, abs=1e-9)
    assert np.isnan(drawn["abv"][-1])


@given(abws, references)
def test_mass_and_volume_round_trip(abw, base):
    assert abw_from_abv(abv_from_abw(abw, base), base) == pytest.approx(abw, abs=1e-11)


@given(abvs)
def test_every_way_to_say_a_strength_leads_back(abv):
    said = strength_from_abv(abv)
    assert strength_from_abw(said.abw_fraction).abv == pytest.approx(abv, abs=1e-9)
    assert strength_from_us_proof(said.us_proof).abv == pytest.approx(abv, abs=1e-9)
    by_mole = strength_from_mole_fraction(said.ethanol_mole_fraction)
    assert by_mole.abv == pytest.approx(abv, abs=1e-9)
    assert strength_from_density(said.density_kg_m3, 20.0).abv == pytest.approx(abv, abs=1e-8)
    assert strength_from_abv(said.abv_at_60_f, SIXTY_F).abv == pytest.approx(abv, abs=1e-9)


@given(abws, temperatures)
def test_density_and_strength_round_trip(abw, temperature):
    back = abw_from_density(density(abw, temperature), temperature)
    assert back == pytest.approx(abw, abs=1e-10)


@given(st.floats(0, 1))
def test_mole_fractions_round_trip(x):
    assert mole_fraction_from_abw(abw_from_mole_fraction(x)) == pytest.approx(x, abs=1e-14)
    assert mole_fraction_from_abv(abv_from_mole_fraction(x)) == pytest.approx(x, abs=1e-10)


def test_azeotrope_said_three_ways():
    # Horsley, Azeotropic Data III (quoted): x 0.894, 95.6 % mass, 97.2 % vol.
    assert 100 * abw_from_mole_fraction(0.894) == pytest.approx(95.57, abs=0.05)
    assert abv_from_mole_fraction(0.894) == pytest.approx(97.2, abs=0.05)


def test_arrays_run_as_numbers_do():
    p, t = np.linspace(0, 1, 7), np.linspace(-5, 40, 7)
    assert density(p, t) == pytest.approx([density(a, b) for a, b in zip(p, t, strict=True)])
    assert density(p[:, None], t).shape == (7, 7)
    v = np.linspace(0, 100, 7)
    assert abw_from_abv(v) == pytest.approx([abw_from_abv(a) for a in v], abs=1e-13)
    assert isinstance(density(0.5, 20.0), float)
    assert isinstance(abw_from_abv(40.0), float)


def test_one_bad_element_of_an_array_is_named():
    with pytest.raises(OutOfRangeError, match=r"is 41 °C; it must lie between -20 and 40 °C"):
        density(0.5, np.array([20.0, 41.0]))
    with pytest.raises(OutOfRangeError, match=r"is 1010\.00 kg/m³.*distil a sample"):
        abw_from_density(np.array([950.0, 1010.0]), 20.0)


def test_60_f_and_20_c_differ():
    # 27 CFR 30.11 (proof at 60 F); computed by OIML R 22.
    assert strength_from_us_proof(80.0).abv == pytest.approx(40.07, abs=0.005)
    assert strength_from_us_proof(80.0).abv_at_60_f == pytest.approx(40.0, abs=1e-9)


def test_gallon_of_water_in_air():
    # 27 CFR part 30: a gallon of water at 60 F weighs 8.32823 lb in air (from memory).
    water = density(0.0, SIXTY_F)
    kg = weight_in_air(3.785411784e-3 * water, water, 1.2226, 8400.0)
    assert kg / LB_KG == pytest.approx(8.32823, abs=1e-4)


def test_weighing_a_pycnometer():
    # The scale reads what OIML D 28 says it does; the strength comes back.
    for abv, temperature in ((0.0, 20.0), (40.0, 15.0), (96.0, 25.0)):
        rho = density(abw_from_abv(abv), temperature)
        shown = weight_in_air(100e-3 * rho, rho)
        found = strength_from_weighing(shown, 100.0, temperature)
        assert found.abv == pytest.approx(abv, abs=1e-7)


def test_leaving_out_the_air_would_cost_half_a_percent():
    rho = density(abw_from_abv(40.0), 20.0)
    as_if_in_vacuo = strength_from_density(0.99888 * rho, 20.0).abv
    assert as_if_in_vacuo - 40.0 == pytest.approx(0.66, abs=0.1)


def test_sugar_hides_strength():
    found = obscured_strength(38.0, 1.0)
    assert found.hidden_abv == pytest.approx(0.23, abs=0.03)
    assert obscured_strength(38.0, 0.0).hidden_abv == pytest.approx(0.0, abs=1e-9)
    # The sweetened spirit, put together again by mass, shows what it was said to show.
    litre = 1 - 10 * 0.62e-3
    clear = obscured_strength(38.0, 10.0).abv / litre
    mass = density(abw_from_abv(clear), 20.0) * litre + 10.0
    assert abv_from_abw(abw_from_density(mass, 20.0)) == pytest.approx(38.0, abs=1e-8)


@given(st.floats(0.1, 1e5), abvs, temperatures)
def test_volume_weight_and_alcohol_agree(volume, abv, temperature):
    found = contents_by_volume(volume, abv, temperature)
    assert found.pure_alcohol_l == pytest.approx(
        found.volume_at_20_c_l * abv / 100, rel=1e-9, abs=1e-9
    )
    back = contents_by_weight(found.weight_in_air_kg, abv, temperature)
    assert back.volume_l == pytest.approx(volume, rel=1e-9)
    assert back.pure_alcohol_l == pytest.approx(found.pure_alcohol_l, rel=1e-9, abs=1e-9)


def test_proof_gallon_is_a_gallon_of_100_proof_at_60_f():
    gallon = Mixture.of_volume(3.785411784, 50.0, SIXTY_F, SIXTY_F)
    assert us_proof_gallons(gallon) == pytest.approx(1.0, rel=1e-9)
