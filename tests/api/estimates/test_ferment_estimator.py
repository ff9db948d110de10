"""A ferment worked out apart from the house's own models, told by its estimator.

Truth is a logistic curve of the share fermented (Verhulst 1838) with a heat balance of its own:
120 L, 83 kJ in a litre, 6 W/K, in a room that swings. The estimator knows none of these numbers.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from api.estimates.estimator import Step
from api.estimates.ferment import words
from api.estimates.ferment.cooling import Hand, Hold
from api.estimates.ferment.estimator import FermentEstimator
from api.estimates.ferment.telling import QUANTITIES
from api.estimates.ground import FermentGround, GravityReading, Measured, ProbeGround

BEGINS = 1_800_000_000
LITRES, KJ_L, LOSS_W_K, KJ_K = 120.0, 83.0, 6.0, 520.0
MIDDLE_H, WIDTH_H = 22.0, 4.5
ORIGINAL, FINAL = 1.066, 0.992
GROUND = FermentGround(
    run_id="ferment", from_slot=BEGINS, vessel_volume_l=160.0, material="stainless-steel",
    volume_l=LITRES, pitched_slot=BEGINS, original_sg=Measured(ORIGINAL, 0.001),
    kind_of_wash="sugar", on_grain=False,
)  # fmt: skip
PROBES = {place: ProbeGround(calibrated=True, error_c=0.1) for place in ("ferment", "room")}


@dataclass(frozen=True)
class Truth:
    time_h: np.ndarray
    share: np.ndarray
    wash_c: np.ndarray
    room_c: np.ndarray

    def sg(self, hour):
        return ORIGINAL - (ORIGINAL - FINAL) * float(np.interp(hour, self.time_h, self.share))

    def heat_w(self, hour):
        rate = np.gradient(self.share, self.time_h)
        return LITRES * KJ_L / 3.6 * float(np.interp(hour, self.time_h, rate))


@cache
def truth(stops_h=None):
    time_h = np.arange(0.0, 72.0, 1 / 60)
    share = 1 / (1 + np.exp(-(time_h - MIDDLE_H) / WIDTH_H))
    share = (share - share[0]) / (1 - share[0])
    if stops_h is not None:
        share = np.minimum(share, np.interp(stops_h, time_h, share))
    room_c = 19.0 + 1.5 * np.sin(time_h * 2 * np.pi / 24)
    wash_c = np.empty_like(time_h)
    wash_c[0] = 24.0
    for i, gained in enumerate(np.diff(share) * LITRES * KJ_L):
        lost = LOSS_W_K * (wash_c[i] - room_c[i]) * 0.06
        wash_c[i + 1] = wash_c[i] + (gained - lost) / KJ_K
    return Truth(time_h, share, wash_c, room_c)


def steps(from_h, to_h, of=None, *, room=True):
    of = of or truth()
    noise = np.random.default_rng(3)
    for i in range(int(from_h * 60), int(to_h * 60)):
        shown = of.wash_c[i] + 0.02 * noise.standard_normal()
        values = {"ferment": round(float(shown) * 16) / 16}
        if room:
            values["room"] = float(of.room_c[i])
        yield Step(BEGINS + 60 * (i + 1), values)


def told(to_h, ground=GROUND, given=None, probes=PROBES):
    estimator = FermentEstimator()
    estimator.know(ground, probes)
    estimator.see(steps(0, to_h) if given is None else given)
    return {one.quantity: one for one in estimator.tell()}


def read(hour, off=0.0):
    return GravityReading(BEGINS + int(hour * 3600), Measured(truth().sg(hour) + off, 0.001))


def width(one):
    return one.high - one.low


@pytest.fixture(scope="module")
def early():
    return told(12)


@pytest.fixture(scope="module")
def midway():
    return told(26)


@pytest.fixture(scope="module")
def late():
    return told(60)


def test_every_quantity_is_told_and_says_what_it_rests_on(midway):
    assert tuple(midway) == QUANTITIES
    assert all(one.rests_on and one.narrows for one in midway.values())


def test_bands_hold_the_truth_midway(midway):
    true = {
        "heat_rate_w": truth().heat_w(26),
        "loss_w_per_k": LOSS_W_K,
        "fermented_percent": 100 * float(np.interp(26, truth().time_h, truth().share)),
        "gravity_sg": truth().sg(26),
    }
    for name, value in true.items():
        assert midway[name].low < value < midway[name].high, name
        assert midway[name].low < midway[name].low_68 < midway[name].high_68 < midway[name].high


def test_the_peak_is_found_within_an_hour_and_announced(late):
    assert late["hours_since_peak"].value == pytest.approx(60 - MIDDLE_H, abs=1.0)
    assert late["hours_to_peak"].value is None
    assert "passed" in late["hours_to_peak"].why


def test_a_peak_under_a_thermostat_is_told_by_its_band_alone(late):
    """A coil keeps the wash from growing warmer than it is at hour 14."""
    held = truth()
    wash_c, set_c = held.wash_c.copy(), held.wash_c[14 * 60]
    for i in range(14 * 60, wash_c.size - 1):
        gained = (held.share[i + 1] - held.share[i]) * LITRES * KJ_L
        lost = LOSS_W_K * (wash_c[i] - held.room_c[i]) * 0.06
        wash_c[i + 1] = min(wash_c[i] + (gained - lost) / KJ_K, set_c)
    found = told(48, given=steps(0, 48, replace(held, wash_c=wash_c)))["hours_since_peak"]
    assert found.value is None
    assert found.low < 48 - MIDDLE_H < found.high
    assert found.why == words.PEAK_BETWEEN.format(low=found.low, high=found.high)
    assert late["hours_since_peak"].value is not None


def test_before_the_peak_it_says_that_it_lies_ahead(early):
    assert early["hours_since_peak"].why == words.PEAK_AHEAD
    assert early["hours_to_peak"].low < MIDDLE_H - 12 < early["hours_to_peak"].high


def test_the_loss_is_learnt_from_the_cooling_at_the_end(midway, late):
    assert width(late["loss_w_per_k"]) < 0.7 * width(midway["loss_w_per_k"])
    assert late["loss_w_per_k"].value == pytest.approx(LOSS_W_K, rel=0.2)


def test_at_the_end_it_is_done_and_not_stuck(late):
    assert late["fermented_percent"].value > 96
    assert late["hours_to_end"].value < 3
    assert late["stuck_percent"].value < 10
    assert "0.99" in late["stuck_percent"].why


def test_a_ferment_that_stops_is_found_within_twelve_hours():
    found = told(32, given=steps(0, 32, truth(21.0)))
    assert found["stuck_percent"].value > 60
    assert found["hours_to_end"].why == words.STOPPED


@pytest.mark.parametrize("stops_h", [4.0, 8.0])
def test_what_stops_as_it_begins_is_not_told_as_finished_and_is_called(stops_h):
    early = told(stops_h + 8, given=steps(0, stops_h + 8, truth(stops_h)))
    assert early["hours_to_end"].why == words.NOT_YET
    assert early["stuck_percent"].value < 50
    late = told(37, given=steps(0, 37, truth(stops_h)))
    assert late["hours_to_end"].why == late["hours_since_peak"].why == words.NOT_BEGUN
    assert late["stuck_percent"].value > 80


def test_half_of_a_grain_washs_sugar_is_not_taken_to_come_late():
    """Enzymes set some of it free slowly, but hardly ever as much as is left here."""
    fall = (ORIGINAL - FINAL) / (ORIGINAL - 1.0)
    grain = replace(GROUND, kind_of_wash="grain", on_grain=True, attenuation=fall)
    found = told(30, grain, given=steps(0, 30, truth(21.0)))
    assert found["stuck_percent"].value > 80  # as the shipped rule calls it


def test_gravities_anchor_it(midway):
    anchored = told(26, replace(GROUND, gravities=(read(14), read(25))))
    assert width(anchored["fermented_percent"]) < 0.7 * width(midway["fermented_percent"])
    assert anchored["gravity_sg"].value == pytest.approx(truth().sg(26), abs=0.002)


def test_known_afterwards_is_as_if_known_from_the_start():
    after = FermentEstimator()
    after.know(replace(GROUND, volume_l=90.0, original_sg=None), {})
    after.see(steps(0, 10))
    after.tell()
    whole = replace(GROUND, gravities=(read(8),))
    after.know(whole, PROBES)
    assert {one.quantity: one for one in after.tell()} == told(10, whole)


def test_without_a_room_probe_it_is_wide_and_says_so(early):
    blind = told(12, given=steps(0, 12, room=False))
    assert width(blind["fermented_percent"]) > 1.2 * width(early["fermented_percent"])
    assert words.NO_ROOM in blind["heat_rate_w"].rests_on
    assert words.HANG_ROOM_PROBE in blind["heat_rate_w"].narrows


def test_a_gravity_that_contradicts_everything_is_named_and_got_over():
    bad = replace(GROUND, gravities=(read(10, off=-0.055),))
    found = told(12, bad)["gravity_sg"]
    assert any("contradicts" in one for one in found.contradictions)
    good = replace(bad, gravities=(*bad.gravities, read(11), read(11.5)))
    again = told(12, good)["gravity_sg"]
    assert again.value == pytest.approx(truth().sg(12), abs=0.006)


def test_a_gravity_that_rises_is_named():
    found = told(10, replace(GROUND, gravities=(read(6), read(9, off=0.02))))
    assert any("rises" in one for one in found["gravity_sg"].contradictions)
    assert words.READ_AGAIN in found["gravity_sg"].narrows


def test_nothing_of_before_is_told_once_it_is_read_again():
    found = told(15, given=[*steps(0, 8), *steps(15, 15.1)])
    assert found["fermented_percent"].why == words.UNREAD.format(hours=6.9)
    again = told(16, given=[*steps(0, 8), *steps(15, 15.4)])["fermented_percent"]
    assert again.low < 100.0 * float(np.interp(15.4, truth().time_h, truth().share)) < again.high


def test_a_gap_of_hours_widens_and_it_recovers():
    gap = [*steps(0, 8), *steps(15, 16.2)]
    assert told(16, given=gap)["fermented_percent"].value is not None
    silent = [*steps(0, 8), Step(BEGINS + 14 * 3600, {"ferment": None, "room": 19.0})]
    silent.append(Step(BEGINS + 14 * 3600 + 700, {"ferment": None, "room": 19.0}))
    found = told(14, given=silent)
    assert width(found["heat_rate_w"]) > width(told(8)["heat_rate_w"])
    assert any("old" in one for one in found["heat_rate_w"].rests_on)


def test_a_clock_step_is_no_month_of_fermenting():
    month = 30 * 86_400
    stepped = [*steps(0, 8), *(replace(one, slot=one.slot + month) for one in steps(8, 12))]
    found = told(12, given=stepped)
    assert found["fermented_percent"].value < 30
    assert any("jumps by 30 days" in one for one in found["fermented_percent"].rests_on)


@pytest.mark.parametrize(
    ("change", "name", "why"),
    [
        ({"volume_l": None, "vessel_volume_l": None}, "heat_rate_w", words.NO_VOLUME),
        ({"volume_l": 0.0, "vessel_volume_l": None}, "loss_w_per_k", words.NO_VOLUME),
        ({"original_sg": None}, "abv", words.NO_GRAVITY),
        ({"original_sg": None}, "stuck_percent", words.NO_GRAVITY),
        ({"pitched_slot": BEGINS + 86_400}, "fermented_percent", words.NOT_PITCHED),
    ],
)
def test_what_cannot_be_told_says_why(change, name, why):
    found = told(6, replace(GROUND, **change))[name]
    assert (found.value, found.why) == (None, why)


def test_what_is_missing_is_said_and_what_can_be_told_is():
    found = told(8, replace(GROUND, pitched_slot=None, volume_l=None))
    assert found["fermented_percent"].value is not None
    assert {words.PITCH_UNKNOWN, words.VOLUME_GUESSED} <= set(found["heat_rate_w"].rests_on)


def test_nothing_silence_and_impossible_readings_are_said():
    assert told(0)["fermented_percent"].why == words.NOTHING_YET
    hot = [*steps(0, 2), Step(BEGINS + 8400, {"ferment": 85.0}), Step(BEGINS + 9100, {})]
    assert "85" in told(2, given=hot)["heat_rate_w"].why
    quiet = [*steps(0, 3), *(Step(BEGINS + hour * 3600, {"ferment": None}) for hour in (30, 31))]
    assert "hours" in told(3, given=quiet)["heat_rate_w"].why


def test_a_thermostat_is_seen_by_the_rise_that_breaks_off():
    hold = Hold()
    rising = [25.0 + 0.05 * i for i in range(12)]
    held = [rising[-1]] * 8
    for i in range(10):
        assert hold.judge(rising[:i], rising[i], rising[i + 1 : i + 7], lambda: -0.1) is Hand.NONE
    assert hold.judge(rising, held[0], held[1:7], lambda: -0.1) is Hand.HELD
    assert hold.held_at_c == pytest.approx(held[0])
    assert hold.judge(held, held[0] - 0.5, [held[0] - 1.0], lambda: -0.1) is Hand.MOVED


def test_where_somebody_listens_it_is_told_in_parts_and_tells_the_same():
    live = FermentEstimator()
    live.know(GROUND, PROBES)
    given = [
        Step(one.slot - 50 + 10 * part, one.values) for one in steps(0.0, 3.4) for part in range(6)
    ]
    parts, told_anew = 0, []
    for step in given:
        live.see((step,))
        before, now = told_anew[-1] if told_anew else None, live.tell()
        if now is not before:
            told_anew.append(now)
            assert len(told_anew) == 1 or 30 <= step.slot % 600 <= 120
        parts += live._telling is not None
    assert parts > 5 * len(told_anew) > 60
    at_once = FermentEstimator()
    at_once.know(GROUND, PROBES)
    at_once.see(given)
    assert live.tell() == at_once.tell()


def test_steps_that_are_too_few_for_parts_are_not_waited_for():
    live, at_once = FermentEstimator(), FermentEstimator()
    for estimator in (live, at_once):
        estimator.know(GROUND, PROBES)
    given = [step for step in steps(0.0, 12.0) if step.slot % 600 == 0]
    for step in given:
        live.see((step,))
        live.tell()
    at_once.see(given)
    assert live.tell() == at_once.tell()
