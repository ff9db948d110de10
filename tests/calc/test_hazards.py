"""Fire, vapour, carbon dioxide, fill and charge, against the figures they stand on."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import OutOfRangeError
from calc.hazards import charge_limit, fill_limit, flash_point, flash_point_curve
from calc.proofing import dilution
from calc.room_air import (
    CO2_EIGHT_HOURS_PPM,
    co2_in_room,
    co2_in_room_curve,
    vapour_escape,
    vapour_escape_curve,
)

# Safety tables of aqueous ethanol, 10 to 96 % (retrieved); pure ethanol NIOSH Pocket Guide (2007).
FLASH_POINTS = (49, 36, 29, 26, 24, 22, 21, 20, 17, 17, 13)


@pytest.mark.parametrize(
    ("abv", "point"),
    list(zip((*range(10, 100, 10), 96, 100), FLASH_POINTS, strict=True)),
)
def test_flash_point(abv, point):
    found = flash_point(float(abv))
    assert found.flash_point_c == pytest.approx(point)
    assert found.flammable_from_c == pytest.approx(point - 5)


def test_flash_point_never_rises_with_strength():
    drawn = flash_point_curve()
    assert (np.diff(drawn["flash_point_c"]) <= 0).all()
    assert flash_point(35.0).flash_point_c == pytest.approx(27.5)


def test_flash_point_is_not_told_where_no_table_tells_it():
    with pytest.raises(OutOfRangeError, match="between 10 and 100 % vol"):
        flash_point(9.0)


@pytest.mark.parametrize(("abv", "minutes"), [(40, 2.8), (60, 1.5), (90, 0.6)])
def test_vapour_of_2_kw_in_10_m3(abv, minutes):
    # Computed by hand from latent heats 846 and 2257 kJ/kg, 24.06 L/mol and 3.3 % vol (NIOSH).
    found = vapour_escape(2.0, float(abv), 10.0)
    assert found.duration_min == pytest.approx(minutes, abs=0.05)
    assert found.limit_duration_min == pytest.approx(10 * found.duration_min, rel=0.02)
    assert found.verdict.endswith("stop the heat.")


def test_fresh_air_puts_the_danger_off_or_away():
    still = vapour_escape(2.0, 60.0, 10.0)
    aired = vapour_escape(2.0, 60.0, 10.0, 200.0)
    assert aired.duration_min > still.duration_min
    assert aired.limit_duration_min is None
    assert "below the limit itself" in aired.verdict
    gale = vapour_escape(2.0, 60.0, 10.0, 1000.0)
    assert gale.duration_min is None
    assert "below a tenth" in gale.verdict
    assert "At the outlet" in gale.verdict


@given(st.floats(0.5, 100), st.floats(1, 100), st.floats(5, 1000), st.floats(0, 2000))
def test_mixed_room_by_small_steps(power, abv, room, air):
    # The same balance followed step by step: dc/dt = (G - (G + Q) c) / V.
    found = vapour_escape(power, abv, room, air)
    if found.duration_min is None:
        return
    gas = found.ethanol_vapour_l_min / 1000
    through = gas + air / 60
    steps = 4000
    dt, c = found.duration_min / steps, 0.0
    for _ in range(steps):
        half = c + dt / 2 * (gas - through * c) / room
        c += dt * (gas - through * half) / room
    assert c == pytest.approx(0.0033, rel=1e-3)


def test_vapour_curve_passes_the_limit_when_the_number_says():
    found, drawn = vapour_escape(2.0, 60.0, 10.0), vapour_escape_curve(2.0, 60.0, 10.0)
    at = np.interp(found.limit_duration_min, drawn["duration_min"], drawn["ethanol_percent"])
    assert at == pytest.approx(3.3, abs=0.01)


def test_carbon_dioxide_limit_is_that_of_niosh():
    # NIOSH Pocket Guide (2007) and EH40/2005: 5,000 ppm over eight hours.
    found = co2_in_room(200.0, 40.0, 0.5)
    aired = co2_in_room(200.0, 40.0, found.ventilation_m3_h / 40.0)
    assert aired.co2_ppm == pytest.approx(CO2_EIGHT_HOURS_PPM, rel=1e-9)
    # By hand: 0.2 m3/h in 43.4 + 0.2 m3/h of air with 420 ppm.
    assert found.ventilation_m3_h == pytest.approx(0.2 * (1 - 0.005) / (0.005 - 420e-6), rel=1e-9)
    assert found.verdict.startswith("Passes 5,000 ppm")
    drawn = co2_in_room_curve(200.0, 40.0, 0.5)
    at = np.interp(found.duration_h, drawn["duration_h"], drawn["co2_ppm"])
    assert at == pytest.approx(CO2_EIGHT_HOURS_PPM, rel=0.01)
    assert drawn["co2_ppm"][0] == pytest.approx(420)


def test_sealed_room_fills():
    found = co2_in_room(200.0, 40.0)
    # 0.2 m3/h into 40 m3: 4580 ppm in 0.92 h.
    assert found.duration_h == pytest.approx(40 * 4580e-6 / 0.2, rel=0.01)
    assert "do not enter" in found.verdict


def test_airy_room_stays_fit():
    found = co2_in_room(20.0, 40.0, 2.0)
    assert found.duration_h is None
    assert found.verdict.startswith("Stays below 5,000 ppm")


@pytest.mark.parametrize(
    ("wash", "cautious", "most"),
    # Common practice, no source.
    [("foaming-wash", 60, 66), ("wash", 70, 75), ("low-wines", 80, 85)],
)
def test_fill_by_kind_of_wash(wash, cautious, most):
    found = fill_limit(100.0, wash)
    assert found.cautious_volume_l == pytest.approx(cautious)
    assert found.most_volume_l == pytest.approx(most)


def test_charge_no_stronger_than_40():
    # Common practice, no source.
    strong = charge_limit(10.0, 65.0)
    assert strong.water_volume_l == pytest.approx(dilution(10.0, 65.0, 40.0).water_volume_l)
    assert strong.verdict.startswith("Too strong")
    weak = charge_limit(10.0, 40.0)
    assert (weak.water_volume_l, weak.final_volume_l) == (0.0, 10.0)
    assert weak.verdict == "No stronger than 40 % vol."
