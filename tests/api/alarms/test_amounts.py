"""How values and limits read in sentences."""

import pytest

from api.alarms.amounts import amount


@pytest.mark.parametrize(
    ("value", "unit", "us_units", "apart", "says"),
    [
        (34.0625, "°C", True, False, "93.3 °F"),  # NIST SP 811 (2008), appendix B
        (34.0625, "°C", False, False, "34.1 °C"),
        (-0.0312, "°C", False, False, "0 °C"),
        (60.0, "°C", True, False, "140 °F"),
        (9.9375, "°C", False, False, "9.9 °C"),
        (2.34375, "K", False, False, "2.34 K"),
        (0.15, "K/s", True, False, "0.27 °F/s"),
        (-0.0467812, "K/min", False, False, "-0.0468 K/min"),
        (5.0, "°C", True, True, "9 °F"),
        (1440.0, "min", False, False, "1440 min"),
        (12.3456, "%", False, False, "12.3 %"),
        (3.0, "", False, False, "3"),
    ],
)
def test_an_amount_reads_as_closely_as_it_can_be_told(value, unit, us_units, apart, says):
    assert amount(value, unit, us_units=us_units, apart=apart) == says
