"""Summaries say of each entry what its readings say, at every step."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from logger.store import codec
from logger.store.summary import STEPS_S, UNKNOWN_GAP_S, gaps_s, summarise

SLOTS = 600


@settings(deadline=None, max_examples=50)
@given(
    hnp.arrays(np.int16, (2, SLOTS), elements=st.integers(-32768, 32767)),
    st.integers(0, 2**32 - 1),
    st.sampled_from([0.0, 0.02, 0.5, 0.99, 1.0]),
)
def test_entries_are_the_extremes_and_totals_of_their_readings(counts, seed, share):
    good = np.random.default_rng(seed).random((2, SLOTS)) < share
    found = summarise(counts, good, np.zeros((2, SLOTS), np.int32))
    for step_s in STEPS_S:
        extremes, totals = found[step_s].extremes, found[step_s].totals
        for series in range(2):
            for entry in range(SLOTS // step_s):
                cut = slice(entry * step_s, (entry + 1) * step_s)
                values = counts[series, cut][good[series, cut]].tolist()
                assert totals.number[series, entry] == len(values)
                assert totals.sum[series, entry] == sum(values)
                assert extremes.low[series, entry] == min(values, default=codec.NOTHING_LOW)
                assert extremes.high[series, entry] == max(values, default=codec.NOTHING_HIGH)


def gaps_of(text, periods):
    """Read a line of slots: `o` a good reading, `x` a refused one, `.` no scan."""
    good = np.array([[mark == "o" for mark in text]])
    return gaps_s(good, np.array(periods, np.uint16))[0].tolist()


@pytest.mark.parametrize(
    ("text", "period", "ended"),
    [
        ("oooooooo", 1, {}),
        ("oo.ooooo", 1, {}),  # one scan missing
        ("oo..oooo", 1, {4: 3}),
        ("oxxxoooo", 1, {4: 4}),  # refused is as missing
        ("oox.x.oo", 1, {6: 5}),
        ("o.o.o.o.", 2, {}),
        ("o.x.o.o.", 2, {}),
        ("o.x.x.o.", 2, {6: 6}),
        ("..xo...o", 1, {7: 4}),
    ],
)
def test_a_gap_is_longer_than_two_and_a_half_periods(text, period, ended):
    gaps = gaps_of(text, [period] * len(text))
    first = text.index("o")
    assert gaps[first] == UNKNOWN_GAP_S
    assert {at: gap for at, gap in enumerate(gaps) if gap and at != first} == ended


def test_a_change_of_cadence_is_no_gap():
    slowing = "ooo" + "....o" * 3
    assert sum(gaps_of(slowing, [1] * 3 + [5] * 15)[1:]) == 0
    quickening = "o....o....ooo"
    assert sum(gaps_of(quickening, [5] * 10 + [1] * 3)[1:]) == 0


def test_a_summary_forgets_gaps_narrower_than_its_step():
    good = np.ones((1, SLOTS), bool)
    good[0, 100:108] = good[0, 200:240] = good[0, 300:400] = False
    gaps = gaps_s(good, np.ones(SLOTS, np.uint16))
    gaps[0, 0] = 0
    found = summarise(np.zeros((1, SLOTS), np.int16), good, gaps)
    ended = {step_s: np.flatnonzero(found[step_s].extremes.gap[0]).tolist() for step_s in STEPS_S}
    assert ended == {10: [24, 40], 60: [6], 600: []}
