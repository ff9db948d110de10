"""Pot-still and reflux running, told apart by what head and pot say; cuts, from them."""

from dataclasses import replace

import numpy as np
import pytest

from api.estimates.ground import PastRun, ProbeGround
from api.estimates.still.members import MEMBERS, Chance, Row, begin, frame_of
from api.estimates.still.motion import top_of
from calc.run_balance import boiling_table, column_table, logit, unlogit


@pytest.fixture(scope="module")
def under_reflux(make):
    """A run of low wines whose head is as three plates at 60 % reflux make it."""
    run = make(litres=20.0, abv=28.0, start_c=82.0, end_abv=60.0, purpose="spirit")
    boiling = boiling_table(1015.0)

    def enriched(step):
        pot, head = step.values["pot"], step.values["head"]
        if head < 70.0:
            return step
        x = float(np.interp(-pot, -boiling.celsius[:300], boiling.root[:300] ** 2))
        y = unlogit(column_table(1015.0).top(x, 3.0, logit(0.6)))
        cooler = float(boiling.temperature_c(boiling.liquid_under(y)))
        return replace(step, values=step.values | {"head": cooler})

    last = run.steps[0].slot + run.boil_s + 2400.0
    steps = [enriched(step) for step in run.steps if step.slot < last]
    still = replace(run.still, has_reflux=True)
    return replace(run, steps=steps, still=still)


@pytest.fixture
def bare_reflux(under_reflux):
    """Members that have seen nothing, with 60 % coming back to some three plates."""
    frame, chance = frame_of(under_reflux.still, under_reflux.ground, 1015.0), Chance.new()
    s = begin(frame, chance, 20.0, (ProbeGround(), ProbeGround()), 0.7)
    s[Row.REFLUX], s[Row.PLATES] = logit(0.6), 3.0
    return s, frame


def test_under_reflux(under_reflux, told):
    found = next(told(under_reflux))
    assert found["reflux_ratio"].value > 0.3
    assert any("under reflux" in said for said in found["reflux_ratio"].rests_on)
    assert found["vapour_abv"].low > 84.0
    assert 0.0 <= found["tails_near"].value < 50.0


def test_reflux_turned_on_in_a_run_is_found_within_minutes(under_reflux, make, told):
    plain = make(litres=20.0, abv=28.0, start_c=82.0, end_abv=60.0, purpose="spirit")
    on = plain.steps[0].slot + plain.boil_s + 1500.0
    steps = [one for one in plain.steps if one.slot < on]
    steps += [one for one in under_reflux.steps if one.slot >= on]
    run = replace(under_reflux, steps=steps)
    at_s = plain.boil_s + 1500.0
    before, soon, after = told(run, at_s, at_s + 150.0, at_s + 600.0)
    assert before["reflux_ratio"].high < 0.5
    wide = [one["reflux_ratio"].high - one["reflux_ratio"].low for one in (before, soon)]
    assert wide[1] > 2.0 * wide[0]
    assert after["reflux_ratio"].low < 1.5 < after["reflux_ratio"].high  # 60 % of it comes back


def test_a_pot_still_is_told_from_it(make, told):
    run = make(litres=20.0, abv=28.0, start_c=82.0, end_abv=60.0, purpose="spirit")
    found = next(told(run, run.boil_s + 1800.0))
    assert found["reflux_ratio"].value < 0.2
    assert any("pot still" in said for said in found["reflux_ratio"].rests_on)


def test_tails_and_hearts_by_the_balance_and_by_past_runs(make, told):
    run = make(litres=20.0, abv=28.0, start_c=82.0, end_abv=50.0, purpose="spirit")
    halfway_s = run.boil_s + 0.35 * (run.end_s - run.boil_s)
    early, late = told(run, halfway_s, run.end_s)
    assert early["tails_near"].value < 20.0
    assert late["tails_near"].value > 90.0
    assert any("about 60 % vol; your nose decides" in said for said in early["tails_near"].rests_on)
    tails_s = float(np.interp(-60.0, -run.way.spout_abv, run.way_s))
    hearts = run.true("collected_volume_l", tails_s) - float(
        np.interp(0.115 * 20.0 * 0.28 * 0.789, run.way.collected_ethanol_kg,
                  run.way.collected_volume_l)
    )  # fmt: skip
    assert early["hearts_l"].low < hearts < early["hearts_l"].high
    own = PastRun("earlier", hearts_from_share=0.2, tails_from_abv=66.0)
    shared = PastRun("another", hearts_from_share=0.1, hearts_share=0.3)
    found = next(told(run, halfway_s, ground=run.changed(past=(shared,))))
    assert found["tails_near"].value > 50.0  # nearly as much is over
    assert any("about 40 % of the alcohol" in said for said in found["tails_near"].rests_on)
    found = next(told(run, halfway_s, ground=run.changed(past=(own,))))
    assert found["hearts_l"].value < early["hearts_l"].value
    assert any("about 66 % vol" in said for said in found["tails_near"].rests_on)


def test_more_comes_back_as_the_head_grows_hot_but_less_than_a_condenser_takes(bare_reflux):
    s, frame = bare_reflux
    strong, weak = (top_of(s, frame, np.full(MEMBERS, x)) for x in (0.08, 0.001))
    heads_c = [
        frame.boiling.temperature_c(frame.boiling.liquid_under(unlogit(top))).mean()
        for top, _ in (strong, weak)
    ]
    takes = (heads_c[1] - 15.0) / (heads_c[0] - 15.0)
    grown = float(np.mean(weak[1] / strong[1]))
    assert 1.02 < grown < takes**0.8


def test_a_stripping_run_is_not_cut(short, told):
    found = next(told(short))
    assert found["tails_near"].why == "Cuts are made of spirit runs; this is none."
    assert found["hearts_l"].value is None
