import csv
from pathlib import Path

import numpy as np
import pytest

from calc.alcoholometry import SIXTY_F, density
from calc.errors import OutOfRangeError
from calc.quantities import LB_KG
from calc.us_gauging import us_density, us_gauge

NBS = Path(__file__).parents[1] / "data/density_nbs_1913_45_to_85_percent_mass.csv"


def test_pounds_of_190_proof_in_gallons():
    # 27 CFR 30.64: 81,000 lb at 190 proof are 11,921.6 wine and 22,650.8 proof gallons.
    found = us_gauge(81_000 * LB_KG, 190.0)
    assert round(found.us_wine_gal, 1) == 11_921.6
    assert round(found.us_proof_gal, 1) == 22_650.8


def test_water_by_the_pound():
    # 27 CFR 30.64: 1000 lb of 200 proof need 82.03 lb of water to reach 190 proof.
    found = us_gauge(1000 * LB_KG, 200.0, 190.0)
    assert round(found.water_in_air_kg / LB_KG, 2) == 82.03


def test_legal_specific_gravity_of_ethanol():
    # 26 USC 5002: ethyl alcohol of specific gravity 0.7939 at 60 °F, water at 60 °F as unity.
    assert round(us_density(1.0) / float(density(0.0, SIXTY_F)), 4) == 0.7939


def test_nearer_the_bureaus_table_than_r22():
    # Osborne, McKelvy & Bearce 1913; at 15 and 20 °C, about 60 °F, where gauging is done.
    rows = csv.reader(line for line in NBS.read_text().splitlines() if line[0] != "#")
    head, *body = rows
    at = [head.index(name) for name in ("t15", "t20")]
    printed = np.array([[float(row[i]) * 999.972 for i in at] for row in body])
    fractions = [float(row[0]) / 100 for row in body]
    ours = np.array([[us_density(p, t) for t in (15.0, 20.0)] for p in fractions])
    plain = np.array([[float(density(p, t)) for t in (15.0, 20.0)] for p in fractions])
    assert np.sqrt(np.mean((ours - printed) ** 2)) < np.sqrt(np.mean((plain - printed) ** 2))


def test_water_never_strengthens():
    with pytest.raises(OutOfRangeError, match=r"must not lie above the spirit's own, 90"):
        us_gauge(100.0, 90.0, 100.0)
