"""The probe in the hand is told from a heating still, a bad reading and a draught."""

import numpy as np
import pytest

from logger import warming
from logger.store.recent import Stretch

END = 10_000


def stretch(shape, period_s=1, seconds=360):
    slots = np.arange(END - seconds + period_s, END + 1, period_s, dtype=float)
    values = np.round(np.array([shape(slot - END) for slot in slots]) * 16) / 16
    return Stretch(slots, values, 0)


def hand(at_s=-40, by_c=8.0, over_s=20.0, start_c=20.0):
    """Warm as a steel probe does: fast at first, then slower."""
    return lambda t: start_c + by_c * (1 - np.exp(-max(t - at_s, 0) / over_s))


def rises(**shapes):
    return warming.rises({name: stretch(shape) for name, shape in shapes.items()}, END)


@pytest.mark.parametrize("period_s", [1, 10])
def test_the_warmed_probe_is_offered_at_either_cadence(period_s):
    probes = {
        "hand": stretch(hand(), period_s),
        "room": stretch(lambda _: 18.0, period_s),
        "pot": stretch(lambda t: 40 + t / 60 * 1.5, period_s),
    }
    found = warming.rises(probes, END)
    assert warming.chosen(found).probe_id == "hand"
    whole = 8 * (1 - np.exp(-2))
    assert whole - 0.1 * period_s < found[0].rise_c <= whole + 0.1
    others = {one.probe_id: one.rise_c for one in found[1:]}
    assert others == {"pot": pytest.approx(0, abs=0.15), "room": 0.0}


def test_a_heating_still_keeps_its_own_trend():
    found = rises(pot=lambda t: 60 + t / 60 * 3, coolant=lambda t: 20 + t / 60 * 1)
    assert warming.chosen(found) is None
    assert max(one.rise_c for one in found) < 0.3
    trends = {one.probe_id: one.trend_c_per_min for one in found}
    assert trends == {"pot": pytest.approx(3, abs=0.05), "coolant": pytest.approx(1, abs=0.05)}


def test_vapour_that_reaches_the_head_is_no_hand():
    found = rises(head=hand(by_c=60, over_s=15), spare=hand(by_c=3))
    assert found[0].probe_id == "head"
    assert not found[0].by_hand
    assert warming.chosen(found) is None  # the spare is not told from the still beside it


def test_a_probe_let_go_again_counts_at_its_warmest():
    def held_and_let_go(t):
        return hand(at_s=-50)(t) if t < -25 else 20 + 6 * np.exp(-(t + 25) / 10)

    found = rises(hand=held_and_let_go, room=lambda _: 18.0)
    assert warming.chosen(found).probe_id == "hand"


def test_one_false_reading_is_not_a_hand():
    def spiked(t):
        return 35.0 if t == -10 else 20.0

    found = rises(spike=spiked, room=lambda _: 18.0)
    assert warming.chosen(found) is None
    assert found[0].rise_c == 0.0


def test_two_warmed_at_once_are_not_told_apart():
    found = rises(one=hand(), other=hand(by_c=7))
    assert warming.chosen(found) is None


def test_a_probe_just_connected_has_no_trend_yet():
    probes = {"new": stretch(hand(at_s=-30), seconds=40), "room": stretch(lambda _: 18.0)}
    found = warming.rises(probes, END)
    assert (warming.chosen(found).probe_id, found[0].trend_c_per_min) == ("new", 0.0)


def test_a_probe_without_a_good_reading_in_the_minute_is_left_out():
    slots = np.arange(END - 300, END - 100, dtype=float)
    silent = Stretch(slots, np.full(slots.size, 20.0), 60)
    assert warming.rises({"silent": silent}, END) == []
    assert warming.chosen([]) is None
