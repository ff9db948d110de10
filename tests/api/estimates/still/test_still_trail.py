"""What a run has passed, known as well as it was known then; and what it is told by."""

import numpy as np
import pytest

from api.estimates.quantiles import quantiles
from api.estimates.quantities import QUANTITIES
from api.estimates.still import bands
from api.estimates.still.estimator import StillEstimator
from api.estimates.still.members import Row
from api.estimates.still.motion import drift
from api.estimates.still.trail import Trail
from api.estimates.still.widths import WIDTHS
from api.estimates.widening import NARROWEST

SPREAD = np.linspace(-1.0, 1.0, 101)


def passed(blocks):
    """Half a litre a block; 2 % vol weaker and 1 % of the alcohol more, each block."""
    trail = Trail()
    for i in range(blocks):
        trail.note(0.5 * i, 0.01 * i + 0.005 * SPREAD, 90.0 - 2.0 * i + 1.0 * SPREAD)
    return trail


def test_an_error_of_what_was_known_is_one_of_the_litres():
    trail = passed(40)
    at_60 = trail.at_abv(60.0)
    assert at_60.value == pytest.approx(7.5)
    assert at_60.error == pytest.approx(SPREAD.std() * 0.5 / 2.0)  # litres to a % vol
    at_share = trail.at_share(0.195)
    assert at_share.value == pytest.approx(10.0)
    assert at_share.error == pytest.approx(0.005 * SPREAD.std() * 0.5 / 0.01)


def test_what_was_not_passed_is_not_told():
    assert passed(10).at_abv(60.0) is None
    assert passed(10).at_share(0.2) is None
    trail = passed(20)
    other = trail.copy()
    other.note(10.0, np.full(3, 0.9), np.full(3, 5.0))
    assert trail.at_share(0.5) is None
    assert other.at_share(0.5) is not None


def test_bands_are_where_the_members_lie_by_their_widths(short):
    estimator = StillEstimator(short.still)
    estimator.know(short.ground, {})
    estimator.see(short.steps)
    told = {one.quantity: one for one in estimator.tell()}["alcohol_left_l"]
    stood = estimator._follower.ahead_by(20.0)
    litres = np.exp(stood.s[Row.LN_ETHANOL]) * 0.05837
    band = [told.low, told.low_68, told.value, told.high_68, told.high]
    low, low_68, middle, high_68, high = quantiles(litres)
    kind = "strip" if short.ground.purpose == "strip" else "spirit"
    by_68, by_95 = WIDTHS["alcohol_left_l", kind, "early"]
    ends = [by_95 * (low - middle), by_68 * (low_68 - middle), 0.0,
            by_68 * (high_68 - middle), by_95 * (high - middle)]  # fmt: skip
    assert band == pytest.approx([middle + end for end in ends], rel=1e-3)
    before = stood.s[Row.VAPOUR_OFF].copy()
    drift(stood.s, stood.frame, stood.chance, 100.0)
    # Published models part by more the further the pot's strength has gone.
    assert (stood.s[Row.VAPOUR_OFF] - before).std() == pytest.approx(0.015, rel=0.2)


def test_a_band_holds_the_other_and_keeps_to_what_can_be(monkeypatch):
    monkeypatch.setattr(bands, "WIDTHS", {("spout_abv", "spirit", "late"): (9.0, 1.0)})
    ends = bands.band("spout_abv", "single", "late", 60.0 + 20.0 * SPREAD)
    assert ends == sorted(ends)
    assert ends[0] == ends[1] == 0.0
    assert ends[3] == ends[4] == bands.STRONGEST_ABV
    as_they_lie = bands.band("spout_abv", "strip", "late", 60.0 + 2.0 * SPREAD)
    assert as_they_lie == pytest.approx(quantiles(60.0 + 2.0 * SPREAD))


@pytest.mark.parametrize(
    ("dripping", "boiled", "heating", "left_share", "phase"),
    [
        (False, False, True, 1.0, "heating"),
        (False, True, True, 1.0, "heating"),
        (True, True, True, 0.6, "early"),
        (True, True, True, 0.2, "late"),
        (True, True, False, 0.2, "cooling"),
        (False, False, False, 1.0, "heating"),
    ],
)
def test_the_phase_is_told_by_heat_drops_and_what_is_left(
    dripping, boiled, heating, left_share, phase
):
    told = bands.phase_of(dripping=dripping, boiled=boiled, heating=heating, left_share=left_share)
    assert told == phase


def test_every_width_is_of_a_quantity_that_is_told():
    assert {quantity for quantity, _, _ in WIDTHS} <= set(QUANTITIES["still"])
    assert all(NARROWEST <= one <= 2.0 for widths in WIDTHS.values() for one in widths)
