"""One press, two, or a long one, whatever the contacts chatter."""

from hypothesis import given, settings
from hypothesis import strategies as st

from logger.presses import BOUNCE_S, GAP_S, LONG_S, Press, Presses

TICK_S = 0.02


def meant(*edges, until_s=5.0):
    """Say what was meant by edges (seconds, down or up), looked at every 20 ms."""
    presses, found, at_s = Presses(), [], 0.0
    left = list(edges)
    while at_s < until_s:
        while left and left[0][0] <= at_s:
            edge_s, down = left.pop(0)
            found.append(presses.look(edge_s))
            (presses.down if down else presses.up)(edge_s)
        found.append(presses.look(at_s))
        at_s += TICK_S
    return [one for one in found if one is not None]


def press(at_s, for_s):
    return [(at_s, True), (at_s + for_s, False)]


def test_one_press_is_short():
    assert meant(*press(0.1, 0.1)) == [Press.SHORT]


def test_two_presses_are_a_double():
    assert meant(*press(0.1, 0.1), *press(0.4, 0.1)) == [Press.DOUBLE]


def test_two_presses_far_apart_are_two():
    assert meant(*press(0.1, 0.1), *press(1.0, 0.1)) == [Press.SHORT, Press.SHORT]


def test_three_quick_presses_are_a_double_and_a_short():
    quick = [*press(0.1, 0.1), *press(0.4, 0.1), *press(0.7, 0.1)]
    assert meant(*quick) == [Press.DOUBLE, Press.SHORT]


def test_a_long_press_is_told_while_it_lasts():
    presses = Presses()
    presses.down(0.0)
    assert presses.look(LONG_S - 0.01) is None
    assert presses.look(LONG_S) is Press.LONG
    presses.up(3.0)
    assert presses.look(3.0 + BOUNCE_S) is None
    assert presses.look(3.0 + GAP_S + BOUNCE_S) is None
    assert not presses.is_waiting


def test_a_long_press_nobody_looked_at_is_long():
    presses = Presses()
    presses.down(0.0)
    presses.up(2.0)
    assert presses.look(2.1) is Press.LONG


def test_chatter_is_no_press_and_ends_none():
    assert meant((0.1, True), (0.105, False)) == []
    chattering = [(0.1, True), (0.11, False), (0.115, True), (0.25, False), (0.255, True)]
    assert meant(*chattering, (0.3, False)) == [Press.SHORT]


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.floats(0.0, 4.0), st.booleans()), max_size=30))
def test_whatever_the_contact_does_it_comes_to_rest(edges):
    presses = Presses()
    for at_s, down in sorted(edges, key=lambda one: one[0]):
        presses.look(at_s)
        (presses.down if down else presses.up)(at_s)
    presses.up(5.0)
    told = [presses.look(5.0 + n * TICK_S) for n in range(60)]
    assert not presses.is_waiting
    assert len([one for one in told if one]) <= 2
