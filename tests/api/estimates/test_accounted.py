"""What is accounted for of a charge's alcohol: jars, what is under the spout, and the pot."""

import pytest

from api.estimates.accounted import NO_JAR, NO_POT, accounted_share
from api.estimates.estimate import Estimate
from api.estimates.ground import JarGround, Measured, RunGround
from api.estimates.measured import NO_CHARGE

HOUR = 3600
CHARGE = {"charge_volume_l": Measured(40.0, 0.4), "charge_abv": Measured(25.0, 0.25)}  # 10 L


def jar(number, litres=1.0, abv=70.0, **said):
    """A jar an hour; `litres` or `abv` None where nobody measured it."""
    volume = None if litres is None else Measured(litres, 0.01 * litres)
    strength = None if abv is None else Measured(abv, 0.3)
    return JarGround(number * HOUR, (number + 1) * HOUR, volume, strength, **said)


def told(litres):
    return (Estimate("alcohol_left_l", litres, litres - 0.1, litres + 0.1),)


def found(jars, left_l, slot=None, **run):
    known = RunGround("r", "spirit", 0, **(CHARGE | run), jars=tuple(jars))
    return accounted_share(known, told(left_l), len(jars) * HOUR if slot is None else slot)


def test_jars_and_pot_are_added_up_with_their_errors():
    one = found([jar(number) for number in range(5)], 6.35)
    # by hand: 5 x 0.70 + 6.35 + 0.15 that stands between, of 10.0 L
    assert one.value == pytest.approx(100.0, abs=0.01)
    # u of jars 0.0171, pot 0.051, between 0.1: 0.1136 L; of the charge 0.01 x 2 ** 0.5
    assert (one.high - one.low) / 2 / 1.96 == pytest.approx(1.814, abs=0.02)
    assert one.low_68 - one.low > 1.0
    assert "5 of 5 jars" in one.rests_on[0]
    assert not one.narrows


def test_what_escapes_is_missing():
    clean, leaks = ([jar(n, litres) for n in range(8)] for litres in (1.0, 0.7))
    assert found(clean, 4.4).low < 100.0 < found(clean, 4.4).high
    assert found(leaks, 4.4).high < 90.0


def test_a_jar_that_nobody_has_measured_may_hold_anything_it_has_had_time_for():
    jars = [jar(number) for number in range(4)]
    under = JarGround(4 * HOUR, None, holds_l=1.0)
    whole, begun = (found([*jars, under], 7.0, 4 * HOUR + s) for s in (2 * HOUR, 60))
    assert whole.value == pytest.approx(28.0 + 70.0 + 1.5 + 3.5, abs=0.01)  # half of 1 L at 70
    assert begun.value == pytest.approx(28.0 + 70.0 + 1.5, abs=0.2)
    assert whole.high - whole.low > begun.high - begun.low
    assert found(jars, 7.0, 6 * HOUR).high > whole.high  # nobody has said into what it runs


def test_nothing_runs_once_the_heat_is_off():
    jars, off = [jar(number) for number in range(4)], {"heat_off_slot": 4 * HOUR}
    assert found(jars, 7.0, 9 * HOUR, **off) == found(jars, 7.0, 4 * HOUR, **off)


def test_a_strength_that_nobody_has_read_lies_between_its_neighbours():
    read = [jar(n, 1.0, abv) for n, abv in enumerate((80.0, 70.0, 60.0))]
    jars = [read[0], jar(1, 1.0, None), read[2]]
    between, all_read = found(jars, 7.0), found(read, 7.0)
    assert between.value == pytest.approx(all_read.value, abs=0.01)
    assert between.high - between.low > all_read.high - all_read.low
    assert between.narrows
    ends = found([jar(0, 1.0, None), read[1], jar(2, 1.0, None)], 7.0)
    assert ends.value == pytest.approx(21.0 + 70.0 + 1.5, abs=0.01)


def test_it_says_why_it_cannot_tell():
    jars = (jar(0),)
    run = RunGround("r", "spirit", 0, **CHARGE, jars=jars)
    assert accounted_share(RunGround("r", "spirit", 0, jars=jars), told(9.0), HOUR).why == NO_CHARGE
    assert accounted_share(RunGround("r", "spirit", 0, **CHARGE), told(9.0), HOUR).why == NO_JAR
    assert accounted_share(run, (), HOUR).why == NO_POT
    swapped = Estimate("alcohol_left_l", None, None, None, "Pot and head seem swapped.")
    assert accounted_share(run, (swapped,), HOUR).why == swapped.why
