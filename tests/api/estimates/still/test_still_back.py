"""What a run keeps to go back to: as little as serves, and what keeping every block would give."""

from collections import deque
from math import inf

import numpy as np
import pytest

from api.estimates.still.following import Follower
from api.estimates.still.members import ROWS, Row
from api.estimates.still.past import _REMEMBERED, Past

BLOCKS = 200


def bare():
    one = Follower.__new__(Follower)
    one._past = Past()
    one.signs = type("Signs", (), {"off_since": None})()
    return one


def remember(one):
    one._past.keep(one.slot, -inf if one.pot_c is None else one.pot_c, one.s)


@pytest.mark.parametrize("seed", range(20))
def test_it_goes_back_to_where_the_pot_was_hottest_as_if_every_block_were_kept(seed):
    dice, one, went_back = np.random.default_rng(seed), bare(), 0
    every, pots = deque(maxlen=_REMEMBERED), deque(maxlen=_REMEMBERED)
    slot, pot_c = 0, 80.0
    for number in range(BLOCKS):
        slot += int(dice.choice([30, 30, 30, 400]))
        pot_c += dice.normal(dice.choice([0.3, 0.0, -0.2]), 0.3)
        one.pot_c = None if dice.random() < 0.1 else round(pot_c * 4) / 4  # so that some are equal
        if one.pot_c is not None:
            pots.append((slot, one.pot_c))
        one.slot, one.s = slot, np.full(ROWS, float(number))
        if pots and dice.random() < 0.1:
            hottest = max(pots, key=lambda seen: seen[1])[0]
            kept = [before for before in every if before[0] <= hottest]
            one._go_back(hottest)
            assert (one.slot, one.s[0]) == (kept[-1] if kept else (slot, number))
            assert one.s[Row.BEGUN_WATER] == number  # the jar stands under the spout still
            if kept:
                went_back += 1
                every.clear()
                one.slot = slot  # on with the block that showed it
        remember(one)
        every.append((one.slot, one.s[0]))
    assert went_back


def test_of_a_pot_that_warms_evenly_it_keeps_one_moment():
    one = bare()
    for number in range(BLOCKS):
        one.slot, one.pot_c, one.s = 30 * number, 20.0 + number / 10, np.zeros(3)
        remember(one)
    assert len(one._past._moments) == 1
