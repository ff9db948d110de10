"""What the product condenser has to spare: never told of water that stands still."""

import pytest

from api.estimates.estimator import Step
from api.estimates.ground import StillGround
from api.estimates.still import words
from api.estimates.still.condensing import condenser_margin

STILL = StillGround(condenser_duty_w=3000.0)
REFLUX = StillGround(condenser_duty_w=3000.0, has_reflux=True)


def margin(into, out, flow=None, head=85.0, still=STILL):
    values = {"coolant_in": into, "coolant_out": out, "head": head}
    return condenser_margin(Step(1, values, coolant_flow_l_min=flow), still)


@pytest.mark.parametrize(
    ("into", "out", "flow", "head", "why"),
    [
        (15.0, 15.2, 0.0, 85.0, words.NO_FLOW),
        (15.0, 15.2, 0.01, 85.0, words.NO_FLOW),
        (None, None, 0.0, 85.0, words.NO_FLOW),
        (15.0, 15.2, 0.0, 30.0, words.NO_FLOW_YET),
        (15.0, 15.2, None, 85.0, words.NOT_WARMER),
        (30.0, 15.0, None, 85.0, words.NOT_WARMER),
        (30.0, 15.0, 2.0, 85.0, words.NOT_WARMER),
    ],
)
def test_water_that_stands_or_runs_backwards_has_nothing_to_spare(into, out, flow, head, why):
    found = margin(into, out, flow, head)
    assert (found.value, found.why) == (None, why)


@pytest.mark.parametrize(
    ("into", "out", "flow", "head", "still"),
    [
        (15.0, 15.2, None, 30.0, STILL),  # no vapour comes yet
        (15.0, 15.4, 6.0, 85.0, STILL),  # a great flow, measured
        (15.0, 15.2, None, 85.0, REFLUX),  # the reflux condenser takes it all
    ],
)
def test_water_that_has_little_to_do_has_all_to_spare(into, out, flow, head, still):
    assert margin(into, out, flow, head, still).value > 90.0


def test_water_that_is_too_hot_has_nothing_to_spare_and_never_less():
    found = margin(15.0, 75.0, 1.0)
    assert (found.low, found.value, found.high) == (0.0, 0.0, 0.0)


def test_water_halfway_to_its_limit_has_half_to_spare():
    found = margin(20.0, 40.0)
    assert found.value == pytest.approx(50.0)
    assert found.low < found.low_68 < 50.0 < found.high_68 < found.high
