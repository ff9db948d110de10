"""A mash that cools by Newton's law, told by its estimator: answers against the closed form."""

from dataclasses import replace

import numpy as np
import pytest

from api.estimates.estimator import Step
from api.estimates.ground import MashGround, ProbeGround, RestGround
from api.estimates.mash import words
from api.estimates.mash.estimator import QUANTITIES, MashEstimator
from api.estimates.mash.readings import Readings
from calc.mash_keeping import mash_kj_k, minutes_to
from calc.rests import rest_step

BEGINS = 1_800_000_000
ROOM_C, START_C, TAU_MIN = 20.0, 66.0, 500.0
GROUND = MashGround(
    run_id="mash", from_slot=BEGINS, vessel_volume_l=400.0, grain_kg=65.0, liquor_l=210.0,
    rests=(RestGround(62.0, 65.5, 60.0, BEGINS),),
)  # fmt: skip
TRUE = {"mash": ProbeGround(calibrated=True, error_c=0.02)}


def warmth(minute):
    return ROOM_C + (START_C - ROOM_C) * np.exp(-minute / TAU_MIN)


def steps(first=0, last=240, **other):
    noise = np.random.default_rng(1)
    for i in range(first, last):
        shown = round((float(warmth((i + 1) / 6)) + 0.03 * noise.standard_normal()) * 16) / 16
        yield Step(BEGINS + 10 * (i + 1), {"mash": shown, "room": ROOM_C} | other)


def told(ground=GROUND, probes=TRUE, given=None):
    estimator = MashEstimator()
    estimator.know(ground, probes)
    estimator.see(steps() if given is None else given)
    return {one.quantity: one for one in estimator.tell()}


def minutes_at(limit_c):
    """When the closed form crosses a temperature."""
    return -TAU_MIN * np.log((limit_c - ROOM_C) / (START_C - ROOM_C))


@pytest.fixture(scope="module")
def usual():
    return told()


def test_minutes_in_range_are_those_of_the_closed_form(usual):
    assert usual["rest_minutes"].value == pytest.approx(40.0 - minutes_at(65.5), abs=0.6)
    assert usual["rest_minutes"].low < 40.0 - minutes_at(65.5) < usual["rest_minutes"].high


def test_it_falls_out_when_the_closed_form_does(usual):
    due = minutes_at(62.0) - 40.0
    assert usual["minutes_to_fall_out"].low < due < usual["minutes_to_fall_out"].high
    assert usual["minutes_to_fall_out"].value == pytest.approx(due, rel=0.15)


def test_heat_and_water_to_add_are_those_of_the_balance():
    given = list(steps(0, 400))
    found = told(given=given)
    now_c = float(warmth(400 / 6))
    low, high = (400.0 * one for one in (0.05, 0.15))
    lacks_k = 63.75 - now_c
    capacity = mash_kj_k(210.0, 65.0)
    assert (capacity + low) * lacks_k * 0.85 < found["heat_to_add_kj"].value
    assert found["heat_to_add_kj"].value < (capacity + high) * lacks_k * 1.15
    # The same balance as calc.rests, with the vessel's metal as 80 kg of steel (0.5 kJ/(kg K)).
    water_l = rest_step(now_c, 63.75, 99.0, 65.0, 210.0, vessel_mass_kg=80.0).added_volume_l
    assert found["water_to_add_l"].low < water_l < found["water_to_add_l"].high


def test_an_uncalibrated_probe_makes_every_band_wider(usual):
    loose = told(probes={})
    for name in QUANTITIES:
        assert loose[name].high - loose[name].low > usual[name].high - usual[name].low


def test_a_mash_that_is_held_does_not_fall_out():
    flat = [Step(BEGINS + 10 * (i + 1), {"mash": 64.0 + 0.01 * (i % 2)}) for i in range(200)]
    found = told(given=flat)["minutes_to_fall_out"]
    assert found.value is None
    assert "holds" in found.why


def test_a_gap_widens_the_minutes_and_is_named(usual):
    given = [one for one in steps() if not 100 < (one.slot - BEGINS) // 10 < 190]
    found = told(given=given)["rest_minutes"]
    assert found.high - found.low > usual["rest_minutes"].high - usual["rest_minutes"].low + 2
    assert any("15 minutes" in one for one in found.rests_on)


def test_a_clock_step_is_no_rest():
    given = list(steps(0, 120))
    given += [replace(one, slot=one.slot + 40 * 86_400) for one in steps(120, 240)]
    found = told(given=given)["rest_minutes"]
    assert found.high < 45.0
    assert words.JUMPED in found.rests_on


@pytest.mark.parametrize(
    ("change", "name", "why"),
    [
        ({"grain_kg": None}, "heat_to_add_kj", words.NO_GRAIN),
        ({"liquor_l": None}, "water_to_add_l", words.NO_LIQUOR),
        ({"rests": ()}, "rest_minutes", words.NO_REST),
        ({"rests": (RestGround(65.0, 62.0, None, BEGINS),)}, "rest_minutes", "from 65 to 62"),
        ({"rests": (RestGround(50.0, 55.0, None, BEGINS),)}, "minutes_to_fall_out", words.ABOVE),
        ({"rests": (RestGround(50.0, 55.0, None, BEGINS),)}, "water_to_add_l", words.TOO_WARM),
        ({"rests": (RestGround(70.0, 75.0, None, BEGINS),)}, "minutes_to_fall_out", words.BELOW),
        ({"rests": (RestGround(62.0, 65.5, 60.0, BEGINS, BEGINS + 60),)}, "rest_minutes",
         words.NO_REST),
    ],
)  # fmt: skip
def test_what_is_missing_or_wrong_is_said(change, name, why):
    found = told(replace(GROUND, **change))[name]
    assert found.value is None
    assert why in found.why


def test_silence_and_impossible_readings_are_said():
    assert told(given=())["rest_minutes"].why == words.NOTHING_YET
    silent = [*steps(), Step(BEGINS + 2400 + 1800, {"mash": None})]
    found = told(given=silent)
    assert "30 minutes" in found["heat_to_add_kj"].why
    assert found["rest_minutes"].value is not None
    hot = [*steps(), Step(BEGINS + 2410, {"mash": 127.9})]
    assert "127.9" in told(given=hot)["rest_minutes"].why


def test_a_range_corrected_afterwards_is_as_if_known_from_the_start():
    late = MashEstimator()
    late.know(replace(GROUND, rests=(RestGround(60.0, 61.0, None, BEGINS + 600),)), TRUE)
    late.see(steps())
    late.tell()
    late.know(GROUND, TRUE)
    assert {one.quantity: one for one in late.tell()} == told()


def test_a_rise_leaves_by_the_top():
    up = minutes_to(*(np.float64(one) for one in (64.0, 0.1, 20.0, 65.5)))
    away = minutes_to(*(np.float64(one) for one in (64.0, 0.1, 20.0, 62.0)))
    assert float(up) == pytest.approx(15.0)
    assert np.isinf(away)


def test_readings_are_kept_however_many_come():
    readings = Readings()
    for number in range(1200):
        readings.take(Step(BEGINS + 10 * (number + 1), {"mash": 60.0 + number / 1000.0}))
    found = readings.since(BEGINS + 1000, BEGINS + 11_000)
    assert (found.slots[0], found.slots[-1]) == (BEGINS + 1010, BEGINS + 11_000)
    assert found.slots.size == 1000
    assert found.mash_c[-1] == pytest.approx(61.099)
    assert readings.read_slot == BEGINS + 12_000


def test_of_readings_that_fill_days_the_newest_are_kept(monkeypatch):
    monkeypatch.setattr("api.estimates.mash.readings.KEPT", 600)
    readings = Readings()
    for number in range(3000):
        readings.take(Step(BEGINS + 10 * (number + 1), {"mash": float(number % 100)}))
    newest = readings.since(BEGINS + 10 * (3000 - 600))
    assert newest.mash_c.tolist() == [float(number % 100) for number in range(2400, 3000)]


def silent(minutes, after=180):
    """Read the mash for some steps, then leave it silent."""
    last = BEGINS + 10 * after
    unread = (Step(last + 10 * (i + 1), {"mash": None, "room": ROOM_C}) for i in range(6 * minutes))
    return [*steps(0, after), *unread]


def test_a_silence_counts_and_makes_the_bands_wider_and_is_said(usual):
    found = told(given=silent(10))  # 30 minutes read and ten silent: forty, as usual
    due = minutes_at(62.0) - 40.0
    falls = found["minutes_to_fall_out"]
    assert falls.low < due < falls.high
    assert falls.value == pytest.approx(due, abs=1.0)
    for name in ("minutes_to_fall_out", "heat_to_add_kj", "water_to_add_l"):
        assert found[name].high - found[name].low > 1.5 * (usual[name].high - usual[name].low)
        assert words.UNREAD.format(minutes=10.0) in found[name].rests_on
    heat, at_once = found["heat_to_add_kj"], usual["heat_to_add_kj"].value
    assert heat.low < at_once < heat.high


def test_what_left_the_range_unread_has_left_it():
    found = told(given=silent(14, after=240))
    assert found["minutes_to_fall_out"].value is None
    assert found["minutes_to_fall_out"].why == words.LEFT


def test_a_silence_before_its_rate_is_known_leaves_nothing_to_tell():
    found = told(given=silent(5, after=12))
    assert "4 minutes" in found["minutes_to_fall_out"].why
    assert found["heat_to_add_kj"].why == words.SILENT.format(minutes=5.0)


@pytest.mark.parametrize("since", [1, 6])
def test_after_a_gap_only_what_was_read_since_tells_how_it_is(since):
    gone = 1320  # steps: three hours and forty minutes
    found = told(given=[*steps(0, 240), *steps(gone, gone + since)])
    lacks_k = 63.75 - float(warmth((gone + since) / 6))
    low, high = (lacks_k * (mash_kj_k(210.0, 65.0) + 400.0 * one) for one in (0.05, 0.15))
    assert 0.94 * low < found["heat_to_add_kj"].value < 1.06 * high
    assert "on end" in found["minutes_to_fall_out"].why
