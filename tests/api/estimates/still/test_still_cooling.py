"""A pot that cools: its loss is read once it no longer boils on, and never known for certain."""

from dataclasses import replace

import numpy as np
import pytest

from api.estimates.ground import ProbeGround
from api.estimates.still.signs import Block, Signs

ROOM_C, SCALE_S = 20.0, 9000.0  # as such runs cool
COLDER_C = 18.5  # the room, some hours later
BOILS_ON_S = 150


@pytest.fixture(scope="module")
def cooled(make):
    """A run whose pot stays hot for a while after the heat is off, and then cools."""
    run = make(start_c=88.0, cools_min=60.0)
    off = run.steps[0].slot - 10 + int(run.end_s)
    hottest = max(step.values["pot"] for step in run.steps)

    def later(step):
        past_s = step.slot - off
        if past_s <= 0:
            return step
        cools_s = max(past_s - BOILS_ON_S, 0.0)
        pot = ROOM_C + (hottest - ROOM_C) * np.exp(-cools_s / SCALE_S)
        return replace(step, values=step.values | {"pot": float(pot)})

    steps = [later(step) for step in run.steps if step.slot > off - 3000]
    ground = run.changed(from_slot=steps[0].slot, powers_w=((steps[0].slot, 2043.0),))
    return replace(run, steps=steps, ground=ground)


def minutes(cooled, at_s, room_c=ROOM_C):
    """What it takes from then on, by Newton's law of cooling."""
    step = next(one for one in cooled.steps if one.slot >= cooled.steps[0].slot + at_s)
    above = (step.values["pot"] - room_c) / (50.0 - room_c)
    return SCALE_S * float(np.log(above)) / 60.0


@pytest.mark.parametrize("past_min", [15, 50])
def test_it_holds_newtons_law_whether_or_not_the_room_stays(cooled, told, past_min):
    at_s = 3000 + 60 * past_min
    start = cooled.steps[0].slot
    steps = [step for step in cooled.steps if step.slot <= start + at_s]
    found = next(told(cooled, steps=steps))["minutes_to_pot_below_50_c"]
    true = minutes(cooled, at_s)
    assert found.value == pytest.approx(true, rel=0.06)
    for room_c in (ROOM_C, COLDER_C):
        assert found.low < minutes(cooled, at_s, room_c) < found.high
    assert found.high - found.low < 0.5 * true


def test_a_big_pot_that_cools_is_off_for_as_long_as_it_cools_whatever_is_marked():
    """It loses a tenth of a degree a minute, and nobody marked the end of the heat."""
    signs = Signs((ProbeGround(), ProbeGround()))
    shown = [(98.0, 97.5)] * 40
    shown += [(98.0 - 0.05 * n, 20.0 + 77.5 * 0.96**n) for n in range(100)]
    shown += [(93.0 + 0.2 * n, 20.0 + 3.0 * n) for n in range(1, 25)]
    heated = []
    for n, (pot_c, head_c) in enumerate(shown, 1):
        block = Block(slot=30 * n, pot_c=pot_c, head_c=head_c, room_c=20.0, hpa=1013.0)
        signs.see(block, 1013.0, 1.0, marked=True)
        heated.append(signs.heating)
    assert all(heated[:40])
    assert not any(heated[55:140])
    assert heated[-1]
