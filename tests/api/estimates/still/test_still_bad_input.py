"""What is missing, swapped, contradicted, changed or out of time: wider, or why not, and back."""

from dataclasses import replace

import pytest

from api.estimates.ground import JarGround, Measured, ProbeGround, RunGround, SpoutReading
from api.estimates.still import words
from api.estimates.still.estimator import StillEstimator

STRENGTHS = ("pot_abv", "vapour_abv", "spout_abv")


def width(one):
    return one.high - one.low


@pytest.fixture(scope="module")
def plain(short, told):
    return next(told(short))


def shown(run, change):
    """Steps whose values and pressure a function changes."""
    return [change(step) for step in run.steps]


def test_no_charge(short, told, plain):
    bare = short.changed(charge_volume_l=None, charge_abv=None, dissolved_g_l=None)
    before, after = told(short, short.boil_s * 0.9, float("inf"), ground=bare)
    assert before["alcohol_left_l"].why == (
        "Nobody has said what was charged; the pot tells it once it boils."
    )
    assert width(after["alcohol_left_l"]) > 2.0 * width(plain["alcohol_left_l"])
    assert after["pot_abv"].low < plain["pot_abv"].value < after["pot_abv"].high
    assert "Enter volume and strength of the charge." in after["pot_abv"].narrows


def test_neither_charge_nor_size(short, told):
    bare = RunGround(run_id="one", purpose="strip", from_slot=short.ground.from_slot)
    still = replace(short.still, volume_l=None)
    found = next(told(short, ground=bare, still=still))
    assert found["alcohol_left_l"].why == (
        "Neither the charge nor the size of the still is known; enter one of them."
    )
    assert found["pot_abv"].value is not None
    assert found["recovered_percent"].value is not None


def test_no_pressure_is_wider_and_not_silent(short, told, plain):
    steps = shown(short, lambda one: replace(one, pressure_hpa=None))
    found = next(told(short, steps=steps))
    for quantity in ("pot_abv", "vapour_abv"):
        assert width(found[quantity]) > width(plain[quantity])
        assert found[quantity].low < plain[quantity].value < found[quantity].high
    assert "Measure the air's pressure where the still stands." in found["pot_abv"].narrows


def test_a_seal_that_is_entered_counts_and_a_vacuum_cannot_be_told(short, told, plain):
    sealed = shown(short, lambda one: replace(one, pressure_hpa=one.pressure_hpa - 12.0))
    found = next(told(short, steps=sealed, ground=short.changed(seal_hpa=12.0)))
    assert found["pot_abv"].value == pytest.approx(plain["pot_abv"].value, abs=1e-6)
    assert "12 hPa of the liquid seal" in " ".join(found["pot_abv"].rests_on)
    pumped = next(told(short, ground=short.changed(vacuum=True)))
    assert all("under a vacuum" in pumped[name].why for name in (*STRENGTHS, "alcohol_left_l"))


def test_uncalibrated_probes_widen(short, told, plain):
    found = next(told(short, probes={"pot": ProbeGround(), "head": ProbeGround()}))
    for quantity in ("vapour_abv", "spout_abv"):  # the pot's is known from the charge as well
        assert width(found[quantity]) > width(plain[quantity])
    assert "Calibrate the probe of the pot." in found["pot_abv"].narrows


def test_a_band_too_wide_to_act_on(short, told):
    bare = short.changed(charge_volume_l=None, charge_abv=None, dissolved_g_l=None)
    poor = {place: ProbeGround(error_c=6.0) for place in ("pot", "head")}
    found = next(told(short, ground=bare, probes=poor))["vapour_abv"]
    assert found.value is None
    assert found.why.startswith("What is known leaves anything from")
    assert found.high - found.low > 15.0


def test_pot_and_head_swapped(short, told):
    def swap(step):
        values = dict(step.values)
        values["pot"], values["head"] = values["head"], values["pot"]
        return replace(step, values=values)

    found = next(told(short, short.boil_s - 60.0, steps=shown(short, swap)))
    for quantity in STRENGTHS:
        assert found[quantity].value is None
        assert "may be swapped" in found[quantity].why


def test_air_in_the_head(short, told):
    steps = shown(short, lambda one: replace(one, values=one.values | {"head": 60.0}))
    found = next(told(short, steps=steps))
    assert found["vapour_abv"].value is None
    assert "air in it" in found["vapour_abv"].why
    assert found["pot_abv"].value is not None


def test_no_head_probe(short, told):
    steps = shown(short, lambda one: replace(one, values=one.values | {"head": None}))
    found = next(told(short, steps=steps))
    assert found["vapour_abv"].why == "There is no good reading of the head."
    assert found["spout_abv"].value is not None


def test_near_the_azeotrope(make, told):
    run = make(abv=95.0, end_abv=94.0, start_c=70.0, power_w=1200.0, purpose="spirit")
    found = next(told(run, run.boil_s + 900.0))["vapour_abv"]
    assert found.value is None
    assert found.why.startswith("Too near the azeotrope")
    assert found.low < 95.6 < found.high + 1.0


def test_hotter_than_water_can_be(short, told):
    steps = shown(short, lambda one: replace(one, values=one.values | {"pot": 106.0}))
    for quantity in STRENGTHS:
        found = next(told(short, steps=steps))[quantity]
        assert found.value is None
        assert "liquid seal" in found.why
        assert "turn the heat off" in found.why


def test_a_vacuum_nobody_entered(short, told):
    def pump(step):
        hot = step.values["head"] > 50.0
        return replace(step, values={"pot": 60.0, "head": 58.0 if hot else 20.0, "room": 20.0})

    found = next(told(short, steps=shown(short, pump)))
    assert found["pot_abv"].value is None
    assert "vacuum" in found["pot_abv"].why


def test_a_reading_that_contradicts_everything(short, told, plain):
    slot = short.steps[-40].slot
    wrong = SpoutReading(slot, Measured(12.0, 0.3))
    found = next(told(short, ground=short.changed(spout=(wrong,))))["spout_abv"]
    assert any("reading of 12.0 % vol at" in said for said in found.contradictions)
    assert found.value == pytest.approx(plain["spout_abv"].value, abs=1.5)


def test_readings_that_agree_with_each_other_against_the_rest_count(short, told):
    slots = [short.steps[back].slot for back in (-80, -60, -10)]
    start = short.ground.from_slot
    true = [short.true("spout_abv", slot - start) for slot in slots]
    off = [
        SpoutReading(slot, Measured(abv + 9.0, 0.3)) for slot, abv in zip(slots, true, strict=True)
    ]
    once, twice = (
        next(told(short, ground=short.changed(spout=tuple(some))))["spout_abv"]
        for some in (off[:1], off)
    )
    assert "contradicts everything else" in once.contradictions[0]
    assert once.value == pytest.approx(true[-1], abs=1.5)
    assert twice.contradictions == (words.STRENGTHS_AGREE,)
    assert twice.value == pytest.approx(true[-1] + 9.0, abs=1.5)
    apart = (off[0], replace(off[1], abv=Measured(true[1] - 9.0, 0.3)))
    neither = next(told(short, ground=short.changed(spout=apart)))["spout_abv"]
    assert len(neither.contradictions) == 2
    assert neither.value == pytest.approx(true[-1], abs=1.5)


def test_a_jar_that_contradicts_everything(short, told, plain):
    jar = JarGround(
        short.steps[0].slot, short.steps[-30].slot, volume_l=Measured(30.0, 0.1), holds_l=40.0
    )
    found = next(told(short, ground=short.changed(jars=(jar,))))["collected_l"]
    assert any("30 L of the jar begun at" in said for said in found.contradictions)
    assert found.value == pytest.approx(plain["collected_l"].value, rel=0.3)


def test_a_jar_that_was_full_before_anything_ran_is_told_in_litres_one_can_see(short, told):
    began, cold_s = short.steps[0].slot, round(short.boil_s / 2)
    jar = JarGround(began, began + cold_s, volume_l=Measured(2.0, 0.01), holds_l=3.0)
    found = next(told(short, ground=short.changed(jars=(jar,))))["collected_l"]
    assert any("which says about 0 L. If the heat" in said for said in found.contradictions)


def test_a_charge_changed_after_the_fact(short, told, names, good):
    estimator = StillEstimator(short.still)
    wrong = short.changed(charge_abv=Measured(11.0, 0.15))
    estimator.know(wrong, good)
    estimator.see(short.steps)
    before = names(estimator)["alcohol_left_l"]
    estimator.know(short.ground, good)
    after = names(estimator)["alcohol_left_l"]
    assert before.value > after.value
    assert after == next(told(short))["alcohol_left_l"]


def test_a_gap_widens_and_is_recovered_from(make, told):
    run = make(start_c=84.0)
    gap = [s for s in run.steps if not 900 < s.slot - run.steps[0].slot - run.boil_s < 3600]
    before, first, later = told(
        run, run.boil_s + 890.0, run.boil_s + 3660.0, run.boil_s + 5400.0, steps=gap
    )
    assert width(first["heat_w"]) > width(before["heat_w"])
    at_s = run.boil_s + 5400.0
    assert later["pot_abv"].low < run.true("pot_abv", at_s) < later["pot_abv"].high


def test_a_clock_that_goes_back_brings_no_time(short, told, plain):
    steps = [*short.steps[:60], *(replace(s, slot=s.slot - 600) for s in short.steps[:30]),
             *short.steps[60:]]  # fmt: skip
    assert next(told(short, steps=steps)) == plain


def test_nothing_to_see(told, short):
    found = next(told(short, steps=[]))
    assert all(one.value is None and one.why for one in found.values())


def test_a_cleaning_run_tells_no_strength_and_a_sacrificial_one_does(short, told, plain):
    found = next(told(short, ground=short.changed(purpose="cleaning")))
    for quantity in (*STRENGTHS, "collected_l", "alcohol_left_l"):
        assert found[quantity].why == "This run cleans the still; its strengths mean nothing."
    found = next(told(short, ground=short.changed(purpose="sacrificial")))
    assert found["pot_abv"].value == pytest.approx(plain["pot_abv"].value, abs=0.3)
