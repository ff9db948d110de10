"""A ferment's heat balance read backwards: closed form, and figures from the sources named."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import OutOfRangeError
from calc.ferment_balance import (
    alcohol_per_fall,
    cooling_time_constant,
    heat_of_alcohol,
    heat_rate,
    wall_m2,
    wall_w_m2_k,
)
from calc.ferment_heat import WASH_KJ_L_K, rise_above_room, vessel_of
from calc.ferment_pace import Pace, rates, readiness, warmth


@given(st.floats(3.0, 200.0), st.floats(-5.0, 30.0), st.floats(0.0, 3.0))
def test_a_cooling_curve_gives_its_time_constant_back_while_the_room_swings(tau, room, swing):
    # dT/dt = -(T - room(t)) / tau with a sine for a room has a closed form.
    t = np.linspace(0.0, 24.0, 1441)
    w = 2.0 * np.pi / 24.0
    follows = swing / (1.0 + (w * tau) ** 2) * (np.sin(w * t) - w * tau * np.cos(w * t))
    start = room + 15.0
    wash = room + follows + (start - room - follows[0]) * np.exp(-t / tau)
    found = cooling_time_constant(t, wash, room + swing * np.sin(w * t))
    assert found == pytest.approx(tau, rel=1e-3)


def test_what_does_not_cool_has_no_time_constant():
    t = np.linspace(0.0, 5.0, 50)
    with pytest.raises(OutOfRangeError, match="nearer"):
        cooling_time_constant(t, 20.0 + t, np.full(50, 18.0))


def test_heat_read_backwards_from_a_computed_course_is_the_heat_that_went_in():
    # 80 L with 8.4 MJ, the worked case of `calc.fermentation`: an eleventh hour's heat.
    vessel = vessel_of(80.0, "bare", None)
    above = rise_above_room(8414.0, vessel, "quiet", 3.0)
    slope = np.gradient(above, 0.25)
    capacity, loss = np.float64(vessel.capacity_kj_k), np.float64(vessel.loss_w_k)
    found = heat_rate(slope, above, capacity, loss)
    assert float(found[8:].max()) == pytest.approx(8414.0 / 3.6 / 24.0, rel=0.02)


def test_a_degree_brix_warms_a_must_by_about_1_3_kelvin():
    # R. B. Boulton et al., Principles and Practices of Winemaking (1996), from memory: each degree
    # Brix that ferments would warm the must by some 1.3 C if no heat were lost.
    abv_of_a_brix = 10.0 * 0.5114 / 7.893  # 10 g/L of hexose, by Gay-Lussac
    assert heat_of_alcohol(abv_of_a_brix) / WASH_KJ_L_K == pytest.approx(1.3, abs=0.06)


def test_alcohol_of_a_fall_agrees_with_the_brewers_rule():
    # 131.25 times the fall of gravity, a rule of thumb of brewers (common practice, no source).
    balling, by_mass = alcohol_per_fall(1.050)
    assert balling == pytest.approx(0.13125, rel=0.03)
    assert balling < by_mass < 1.12 * balling


def test_walls():
    assert wall_w_m2_k("stainless-steel", "bare") == wall_w_m2_k(None, "bare")
    assert wall_w_m2_k("wood", "bare") < wall_w_m2_k("copper", "bare")
    assert wall_m2(160.0) == pytest.approx(wall_m2(20.0) * 4.0)


def test_warmth_doubles_the_pace_in_ten_kelvin_and_heat_ends_it():
    per_kelvin = np.array([np.log(2.0) / 10.0])
    doubled = warmth(per_kelvin, np.array([27.0])) / warmth(per_kelvin, np.array([17.0]))
    assert float(doubled[0]) == pytest.approx(2.0, rel=0.01)
    assert float(warmth(per_kelvin, np.array([46.0]))[0]) < 0.1
    stands = warmth(per_kelvin, np.array([40.0]), 45.0) / warmth(per_kelvin, np.array([40.0]))
    assert stands[0] > 3.0


def test_nothing_ferments_without_yeast_or_sugar():
    pace = Pace(*(np.array([one]) for one in (0.05, 0.1, 0.5, 0.07, 0.1, 0.03)))
    one, none = np.array([1.0]), np.array([0.0])
    assert [float(rate[0]) for rate in rates(pace, none, none, none, one)] == [0.0, 0.0]
    assert [float(rate[0]) for rate in rates(pace, one, one, one, one)] == [0.0, 0.0]
    assert float(readiness(np.array([-30.0]))[0]) < 1e-9
