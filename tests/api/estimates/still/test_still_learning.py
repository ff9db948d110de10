"""What a number moves, and what it must leave alone."""

import numpy as np
import pytest

from api.estimates.ground import JarGround, Measured
from api.estimates.still.learning import learn

MEMBERS = 300


def test_what_has_nothing_to_do_with_a_number_keeps_its_spread():
    dice = np.random.default_rng(4)
    s = dice.standard_normal((3, MEMBERS))
    s[1] = 0.8 * s[0] + 0.6 * s[1]
    for _ in range(2000):  # as many blocks as a long run has
        s[0] += 0.1 * dice.standard_normal(MEMBERS)
        learn(s, s[0], float(0.1 * dice.standard_normal()), 0.3)
    assert s[0].std() < 0.2
    assert s[1].std() < 0.6  # all that is left of what goes with it
    assert s[2].std() > 0.7


def test_one_number_moves_as_the_kalman_filter_does():
    s = np.random.default_rng(5).standard_normal((1, MEMBERS))
    s = (s - s.mean()) / s.std(ddof=1)
    learn(s, s[0].copy(), 1.0, 0.5)
    assert s[0].mean() == pytest.approx(0.8)  # 1 / (1 + 0.25) of the way
    assert s[0].std(ddof=1) == pytest.approx((0.2) ** 0.5)


def test_each_jar_is_learned_from_where_the_last_one_left_off(make, told):
    run = make(start_c=84.0)
    jars, begin_s = [], run.boil_s + 240.0
    for end_s in (begin_s + 900.0, begin_s + 1800.0):
        litres = run.true("collected_volume_l", end_s) - run.true("collected_volume_l", begin_s)
        begun, ended = (run.ground.from_slot + int(s) for s in (begin_s, end_s))
        jars.append(JarGround(begun, ended, Measured(litres, 0.01 * litres)))
        begin_s = end_s
    # Nobody marked the power, so that each jar tells much.
    ground = run.changed(powers_w=(), jars=tuple(jars))
    found = next(told(run, begin_s + 60.0, ground=ground))["collected_l"]
    true_l = run.true("collected_volume_l", begin_s + 60.0)
    assert found.low < true_l < found.high
    assert found.high - found.low < 0.1 * true_l
