"""The air's pressure: nobody said it, said long ago, or a barometer that falls silent."""

from dataclasses import replace

import numpy as np
import pytest

from api.estimates.steps import Air
from api.estimates.still.members import MEMBERS, ROWS, Chance, Row
from api.estimates.still.signs import BLOCK_S, Block
from api.estimates.still.weather import Weather
from calc.pressure import weather_change

HOUR_S = 3600


def width(one):
    return one.high - one.low


def breathed(run, **air):
    """Give a run's steps with another pressure told."""
    return [replace(step, **air) for step in run.steps]


@pytest.fixture(scope="module")
def plain(short, told):
    return next(told(short))


def test_without_a_height_the_band_holds_what_boils_on_a_mountain(make, told):
    high = make(start_c=80.0, hpa=835.0)  # some 1600 m above the sea
    at_s = high.boil_s + 900.0
    ground = high.changed(charge_volume_l=None, charge_abv=None)
    steps = breathed(high, pressure_hpa=None, pressure_by="altitude")
    found = next(told(high, at_s, ground=ground, steps=steps))["pot_abv"]
    assert found.low < high.true("pot_abv", at_s) < found.high
    said = " ".join((*found.rests_on, *found.narrows, found.why or ""))
    assert "nobody has said how high the house stands" in said or "too wide to act on" in said


def test_without_a_height_it_says_so(short, told):
    steps = breathed(short, pressure_hpa=None, pressure_by="altitude")
    found = next(told(short, steps=steps))["pot_abv"]
    assert "nobody has said how high the house stands" in " ".join(found.rests_on)
    assert "Enter how high the house stands above the sea, or the air's pressure." in found.narrows


def test_what_was_entered_ages_with_the_weather():
    air = Air(None, ((0, 990.0),))
    errors = [air.at(hours * HOUR_S).error_hpa for hours in (0, 6, 24, 2400, 200_000)]
    assert errors == pytest.approx([0.7, 2.5, 7.0, 11.3, 11.3], abs=0.1)
    assert {air.at(hours * HOUR_S).hpa for hours in (0, 24, 2400)} == {990.0}
    known = replace(air, site_hpa=1000.0)
    assert (known.at(24 * HOUR_S).hpa, known.at(24 * HOUR_S).by) == (990.0, "entered")
    assert (known.at(48 * HOUR_S).hpa, known.at(48 * HOUR_S).by) == (1000.0, "altitude")
    assert weather_change(0.0) == 0.0


def test_an_old_pressure_widens_and_says_what_would_narrow(short, told):
    ground = short.changed(charge_abv=None)  # by which the pot would tell the pressure
    fresh, old = (
        next(told(short, ground=ground, steps=breathed(short, pressure_by="entered", **error)))
        for error in ({"pressure_error_hpa": 0.7}, {"pressure_error_hpa": 7.0})
    )
    for quantity in ("pot_abv", "vapour_abv"):
        assert width(old[quantity]) > 1.05 * width(fresh[quantity])
    assert "may have moved it by 14 hPa since" in " ".join(old["pot_abv"].rests_on)
    again = "Enter the air's pressure again, as a barometer where the still stands shows it."
    assert again in old["pot_abv"].narrows
    assert again not in fresh["pot_abv"].narrows


def test_a_pressure_grows_old_while_the_charge_waits():
    s, chance = np.zeros((ROWS, MEMBERS)), Chance.new()
    s[Row.BAROMETER_HPA] = chance.normal(0.0, 0.7)
    told = [
        Block(BLOCK_S * i, 20.0, 20.0, 20.0, 990.0, "entered", 0.7 + 4.0 * i / 1440)
        for i in range(1441)
    ]
    weather = Weather(told[0])
    for block in told[1:]:  # twelve hours
        assert not weather.turn(s, chance, block, BLOCK_S)
    assert s[Row.BAROMETER_HPA].std() == pytest.approx(4.7, rel=0.15)
    barometer = replace(told[-1], hpa=984.0, hpa_by="barometer", hpa_error=0.7)
    assert weather.turn(s, chance, barometer, BLOCK_S)  # from here on it says
    assert s[Row.BAROMETER_HPA].std() == pytest.approx(0.7, rel=0.15)
    assert abs(s[Row.BAROMETER_HPA].mean()) < 0.5


def test_a_barometer_that_falls_silent_leaves_what_it_said(short, told, plain):
    half = len(short.steps) // 2
    steps = [
        step if i < half
        else replace(step, pressure_hpa=980.0, pressure_by="altitude", pressure_error_hpa=8.0)
        for i, step in enumerate(short.steps)
    ]  # fmt: skip
    found = next(told(short, steps=steps))
    for quantity in ("pot_abv", "vapour_abv"):
        assert found[quantity].low < plain[quantity].value < found[quantity].high
        assert width(found[quantity]) < 1.5 * width(plain[quantity])
