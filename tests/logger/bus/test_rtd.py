"""Pt100 against the table of IEC 60751:2008, in ohms; values from memory, to the table's digits."""

from math import isnan

import pytest

from logger.bus.rtd import celsius, ohms

TABLE = [
    (-200.0, 18.52),
    (-100.0, 60.26),
    (-50.0, 80.31),
    (0.0, 100.00),
    (50.0, 119.40),
    (100.0, 138.51),
    (200.0, 175.86),
    (400.0, 247.09),
    (850.0, 390.48),
]


@pytest.mark.parametrize(("temperature_c", "resistance_ohm"), TABLE)
def test_the_standards_table(temperature_c, resistance_ohm):
    assert ohms(temperature_c) == pytest.approx(resistance_ohm, abs=0.0051)
    assert celsius(resistance_ohm) == pytest.approx(temperature_c, abs=0.02)


def test_there_and_back():
    for tenth in range(-2000, 8500, 7):
        assert celsius(ohms(tenth / 10)) == pytest.approx(tenth / 10, abs=1e-4)


@pytest.mark.parametrize("resistance_ohm", [0.0, 17.9, 391.0, 430.0])
def test_no_wire_no_temperature(resistance_ohm):
    assert isnan(celsius(resistance_ohm))
