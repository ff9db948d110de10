"""The plant's ethanol and water against a general library, handbook values and measurements."""

import csv
from pathlib import Path

import numpy as np
import pytest
from thermo.unifac import UNIFAC

from calc.alcoholometry import abv_from_mole_fraction
from logger.errors import PlantError
from logger.plant.activity import excess_j_mol, log_gammas
from logger.plant.fluid import ETHANOL_KG_MOL, WATER_KG_MOL, fluid, partial_hpa

DATA = Path(__file__).parents[2] / "data"
ETHANOL, WATER = {1: 1, 2: 1, 14: 1}, {16: 1}  # groups, by the library's numbers


@pytest.mark.parametrize(("x", "kelvin"), [(0.02, 300.0), (0.1, 360.0), (0.5, 320.0), (0.9, 351.0)])
def test_activity_is_that_of_the_general_library(x, kelvin):
    peer = UNIFAC.from_subgroups(
        T=kelvin, xs=[x, 1 - x], chemgroups=[ETHANOL, WATER], version=1
    )  # modified UNIFAC (Dortmund), from the same paper
    assert log_gammas(x, kelvin) == pytest.approx(np.log(peer.gammas()), abs=1e-12)
    assert excess_j_mol(x, kelvin) == pytest.approx(peer.HE(), abs=0.01)


def test_the_table_is_the_model():
    for x in (1e-4, 0.003, 0.02, 0.1, 0.37, 0.8, 0.999):
        for hpa in (912.3, 1013.25, 1040.0):
            boiling = fluid().boil(x, hpa)
            ethanol, water = partial_hpa(x, boiling.temperature_c + 273.15)
            assert ethanol + water == pytest.approx(hpa, rel=2e-4)
            assert boiling.vapour == pytest.approx(float(ethanol / (ethanol + water)), rel=1e-3)


def test_boiling_is_near_kamihama_2012():
    """J. Chem. Eng. Data 57, 339 (part), 101.3 kPa: within 0.4 K and 0.015, or it is no rival."""
    text = (DATA / "vle_kamihama_2012_101kPa_part.csv").read_text()
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    assert len(rows) > 5
    for row in rows:
        boiling = fluid().boil(float(row["x"]), 10.0 * float(row["pressure_kpa"]))
        assert boiling.temperature_c == pytest.approx(float(row["temperature_c"]), abs=0.4)
        assert boiling.vapour == pytest.approx(float(row["y"]), abs=0.015)


def test_latent_heats_are_the_handbook_s():
    """846 and 2257 kJ/kg at the normal boiling points (handbook values)."""
    for x, boils_c, kg_mol, kj_kg in (
        (1.0, 78.3, ETHANOL_KG_MOL, 846.0),
        (0.0, 100.0, WATER_KG_MOL, 2257.0),
    ):
        latent = fluid().vapour_heat(x, boils_c) - fluid().liquid(x).heat(boils_c)
        assert latent / kg_mol / 1000 == pytest.approx(kj_kg, rel=0.005)


def test_water_and_ethanol_hold_the_handbook_s_heat():
    """4.18 kJ/(kg K) of water, 2.44 of ethanol at 25 C (handbook values, from memory)."""
    assert fluid().liquid(0.0).capacity(25.0) / WATER_KG_MOL == pytest.approx(4180, rel=0.01)
    assert fluid().liquid(1.0).capacity(25.0) / ETHANOL_KG_MOL == pytest.approx(2440, rel=0.02)


@pytest.mark.parametrize(
    ("x", "j_kg_k"), [(0.0416, 4268.0), (0.115, 4310.0), (0.370, 3661.0), (0.610, 3130.0)]
)
def test_mixtures_hold_the_handbook_s_heat(x, j_kg_k):
    """1.02, 1.03, 0.875 and 0.748 cal/(g K) at 41 C (Perry's, specific heats, from memory)."""
    kg_mol = x * ETHANOL_KG_MOL + (1.0 - x) * WATER_KG_MOL
    assert fluid().liquid(x).capacity(41.0) / kg_mol == pytest.approx(j_kg_k, rel=0.015)


def test_mixing_gives_as_much_heat_as_was_measured():
    """About -780 J/mol at 25 C at its most, near a sixth ethanol (Larkin 1975, from memory)."""
    pure = fluid().liquid(0.0), fluid().liquid(1.0)
    heats = {}
    for x in (0.05, 0.1, 0.15, 0.2, 0.3, 0.5):
        apart = (1.0 - x) * pure[0].heat(25.0) + x * pure[1].heat(25.0)
        heats[x] = fluid().liquid(x).heat(25.0) - apart
    assert -900.0 < min(heats.values()) < -600.0
    assert min(heats, key=heats.get) in {0.15, 0.2, 0.3}


def test_strength_is_the_alcoholometry_s():
    for x in (0.0, 0.01, 0.1, 0.4, 0.9):
        assert fluid().abv(x) == pytest.approx(float(abv_from_mole_fraction(x)), abs=0.01)


def test_a_pressure_beyond_the_tables_is_one_sentence():
    with pytest.raises(PlantError, match=r"1400 hPa; its tables reach from 500 to 1300 hPa\.$"):
        fluid().boil(0.1, 1400.0)
