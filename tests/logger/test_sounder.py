"""Sounder and lamp on mock pins: rhythms, trials, and pins that cannot be had."""

import gpiozero
import pytest
from gpiozero.pins.mock import MockFactory

from logger.settings import Settings
from logger.sounder import LAMP, SOUNDER, Call, Sounder, call_of


@pytest.fixture
def pins(monkeypatch):
    factory = MockFactory()
    monkeypatch.setattr(gpiozero.Device, "pin_factory", factory)
    yield factory
    factory.reset()


@pytest.fixture
def sounder(pins, tmp_path):
    made, problems = Sounder.open(Settings(data=tmp_path, sounder_pin=17, lamp_pin="board13"))
    assert problems == []
    yield made
    made.close()


def changes(pin, count, until):
    """Give the first moves of a pin since it was last quiet: level, and how long it held."""
    until(lambda: len(pin.states) > count, says="the pin's moves")
    moves = pin.states[1 : count + 1]
    return [(level, round(after_s, 1)) for after_s, level in moves]


def test_high_is_heard_and_seen_until_it_ends(sounder, pins, until):
    sound, lamp = pins.pin(17), pins.pin(27)
    sounder.call(Call.HIGH)
    moved = changes(sound, 3, until)
    assert [level for level, _ in moved] == [True, False, True]
    assert [held for _, held in moved[1:]] == [SOUNDER[Call.HIGH].on_s, SOUNDER[Call.HIGH].off_s]
    assert changes(lamp, 2, until)[0][0]
    sounder.call(Call.NONE)
    assert not sound.state
    assert not lamp.state


def test_low_is_only_seen(sounder, pins, until):
    sounder.call(Call.LOW)
    changes(pins.pin(27), 1, until)
    assert len(pins.pin(17).states) == 1
    assert not pins.pin(17).state


def test_each_call_has_a_rhythm_of_its_own():
    assert len({LAMP[one] for one in Call}) == len(Call)
    heard = [SOUNDER[one] for one in (Call.CHIRP, Call.MEDIUM, Call.HIGH)]
    assert len(set(heard)) == 3
    assert SOUNDER.keys() == LAMP.keys() == set(Call)


def test_a_trial_sounds_three_times_and_goes_on_as_before(sounder, pins, until):
    sounder.attempt()
    assert [level for _, level in pins.pin(17).states[1:]].count(True) == 3
    assert not pins.pin(17).state


@pytest.mark.parametrize(
    ("pin", "why"),
    [
        ("GPIO99", "this machine has no such pin; give one as GPIO17"),
        ("BOARD1", "this machine has no such pin; give one as GPIO17"),  # carries 3.3 V
    ],
)
def test_a_pin_there_is_not_leaves_the_other(pins, tmp_path, pin, why):
    made, [problem] = Sounder.open(Settings(data=tmp_path, sounder_pin=17, lamp_pin=pin))
    assert str(problem) == f"lamp_pin = {pin} cannot be used: {why}. Everything else goes on."
    made.attempt()
    assert [level for _, level in pins.pin(17).states].count(True) == 3
    made.close()


def test_one_pin_for_both(pins, tmp_path):
    made, [problem] = Sounder.open(Settings(data=tmp_path, sounder_pin=17, lamp_pin=17))
    assert "something else of this program uses it" in str(problem)
    assert made
    made.close()


def test_a_machine_without_pins(monkeypatch, tmp_path):
    monkeypatch.setattr(gpiozero.Device, "pin_factory", None)
    monkeypatch.setenv("GPIOZERO_PIN_FACTORY", "lgpio")
    made, [problem] = Sounder.open(Settings(data=tmp_path, sounder_pin=17))
    assert "on a Pi, install lgpio and join the gpio group" in str(problem)
    assert not made


def test_without_pins_nothing_is_loaded_or_done(tmp_path):
    made, problems = Sounder.open(Settings(data=tmp_path))
    assert problems == []
    assert not made
    made.call(Call.HIGH)
    made.attempt()
    made.close()


def test_a_call_of_a_newer_service_is_taken_for_the_loudest():
    assert call_of("medium") is Call.MEDIUM
    assert call_of("trumpet") is Call.HIGH
