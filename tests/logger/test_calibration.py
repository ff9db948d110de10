"""The line through calibration points, and what it must keep to."""

import numpy as np
import pytest

from calc.errors import OutOfRangeError
from logger import calibration
from logger.calibration import Line, Point
from logger.store.recent import Stretch


@pytest.mark.parametrize(
    ("pressure_hpa", "boils_c"),
    # The handbooks' series for steam-point baths about 1013.25 hPa, from memory.
    [
        (p, 99.974 + 28.0216 * x - 11.642 * x**2 + 7.1 * x**3)
        for p in (950, 980, 1013.25, 1040)
        for x in [p / 1013.25 - 1]
    ],
)
def test_steam_is_as_hot_as_the_pressure_makes_it(pressure_hpa, boils_c):
    assert calibration.steam_c(pressure_hpa) == pytest.approx(boils_c, abs=1.5e-3)


def test_one_point_moves_everything_alike():
    found = calibration.fit([Point(0.5, 0.0)])
    assert found.line == Line(1.0, -0.5)
    assert found.residual_c is None


def test_two_points_are_met_exactly():
    found = calibration.fit([Point(0.4, 0.0), Point(99.1, 99.6)])
    assert found.line.at(0.4) == pytest.approx(0.0, abs=1e-4)
    assert found.line.at(99.1) == pytest.approx(99.6, abs=1e-4)
    assert found.residual_c is None
    assert found.line.measured(99.6) == pytest.approx(99.1, abs=1e-4)


def test_more_points_are_fitted_by_least_squares():
    measured = [0.3, 25.1, 50.6, 75.2, 99.0]
    reference = [0.0, 25.0, 50.0, 75.0, 99.5]
    found = calibration.fit([Point(*one) for one in zip(measured, reference, strict=True)])
    slope, offset = np.polyfit(measured, reference, 1)
    assert found.line == (pytest.approx(slope, abs=1e-6), pytest.approx(offset, abs=1e-5))
    off = np.abs(slope * np.array(measured) + offset - reference)
    assert found.residual_c == pytest.approx(off.max(), abs=1e-4)


def test_points_too_close_are_refused():
    with pytest.raises(OutOfRangeError, match=r"lie 29\.0 °C apart, too close for a line"):
        calibration.fit([Point(20, 20), Point(49, 49)])
    calibration.fit([Point(20, 20), Point(50, 50)])


@pytest.mark.parametrize("slope", [0.9, 1.1])
def test_a_slope_far_from_one_is_refused(slope):
    with pytest.raises(OutOfRangeError, match=r"no sound probe is outside 0\.95 to 1\.05"):
        calibration.fit([Point(0, 0), Point(100, 100 * slope)])


def held(values, period_s=1, refused=0):
    slots = np.arange(len(values), dtype=float) * period_s
    return Stretch(slots, np.asarray(values, dtype=float), refused), int(slots[-1])


def test_a_probe_on_the_edge_of_a_step_is_steady():
    steady = calibration.judge(*held([20.0, 20.0625] * 90))
    assert steady.why is None
    assert steady.measured_c == pytest.approx(20.03125, abs=1e-4)
    assert calibration.judge(*held([20.0] * 18, period_s=10)).why is None


def test_what_drifts_scatters_or_is_too_short_is_not():
    drifting = calibration.judge(*held(np.arange(180) * 0.06 / 60))
    assert "still moves by +0.06 °C a minute" in drifting.why
    scattered = calibration.judge(*held([20.0, 20.25] * 90))
    assert "lie 0.25 °C apart" in scattered.why
    short = calibration.judge(*held([20.0] * 9))
    assert "only 9 good readings" in short.why
    assert "were refused" in calibration.judge(*held([20.0] * 150, refused=50)).why
    assert "no good reading" in calibration.judge(None, 100).why


def test_a_probe_that_cannot_be_where_it_is_said_to_be_is_told():
    assert calibration.too_far(3.0, 0.0) is None
    assert "11.0 °C from the 0.00 °C" in calibration.too_far(11.0, 0.0)
