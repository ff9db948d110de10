from statistics import fmean, pstdev

from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from logger.bus.curves import Curve, noise

values = st.lists(st.floats(-100, 100), min_size=2, max_size=8)


@given(values, st.floats(-2, 10))
def test_never_beyond_its_neighbouring_knots(knots, time):
    curve = Curve.through(*((float(i), value) for i, value in enumerate(knots)))
    left = min(max(int(time), 0), len(knots) - 2)
    low, high = sorted(knots[left : left + 2])
    if time <= 0:
        low = high = knots[0]
    elif time >= len(knots) - 1:
        low = high = knots[-1]
    assert low - 1e-9 <= curve.at(time) <= high + 1e-9


def test_goes_through_its_knots_and_is_level_outside():
    curve = Curve.through((0.0, 1.0), (10.0, 5.0), (30.0, 2.0))
    assert [curve.at(t) for t in (-5.0, 0.0, 10.0, 30.0, 99.0)] == [1.0, 1.0, 5.0, 2.0, 2.0]


def test_is_the_curve_of_the_reference_library_away_from_its_ends():
    knots = ((0.0, 18.0), (30.0, 20.0), (40.0, 60.0), (44.0, 78.0), (90.0, 80.0), (200.0, 95.0))
    curve, peer = Curve.through(*knots), PchipInterpolator(*zip(*knots, strict=True))
    for tenth in range(300, 900):
        assert abs(curve.at(tenth / 10) - peer(tenth / 10)) < 1e-9


def test_noise_has_mean_0_and_deviation_1():
    drawn = [noise(1, "pot", tick) for tick in range(20_000)]
    assert abs(fmean(drawn)) < 0.03
    assert abs(pstdev(drawn) - 1) < 0.03
    assert max(map(abs, drawn)) < 3.5


def test_noise_is_another_for_another_seed_name_or_tick():
    assert (
        len({noise(1, "pot", 1), noise(2, "pot", 1), noise(1, "head", 1), noise(1, "pot", 2)}) == 4
    )
