"""Nothing gets lost: alcohol to 1e-9 and energy to 1e-3, whatever befalls the plant."""

import pytest

from logger.plant.distillery import batch_script, demo_size
from logger.plant.fluid import ETHANOL_KG_L
from logger.plant.practice import KINDS, practice
from logger.plant.run import Run
from logger.plant.troubles import Trouble


def books(run):
    balance = run.plant.balance()
    assert balance.alcohol_error < 1e-9
    assert balance.energy_error < 1e-3
    return balance


def everywhere(truth):
    """Give the alcohol that the truth finds, wherever it is: litres at 20 C."""
    held = sum(one.pure_alcohol_l for one in (*truth.vessels.values(), *truth.lots.values()))
    gone = truth.vented_pure_l + truth.with_gas_pure_l + truth.taken_pure_l
    return held + truth.column_pure_l + gone


def test_a_batch_from_mash_to_bottle():
    run = Run(batch_script("fermenter 1", "rye 1"), demo_size(), start_s=28_800.0)
    columns = list(run.truth().row())
    for count, truth in enumerate(run.until_done(step_s=30.0)):
        if count % 500 == 0:
            came_l = books(run).ethanol_in_kg / ETHANOL_KG_L
            assert everywhere(truth) == pytest.approx(came_l, rel=1e-9, abs=1e-9)
            assert list(truth.row()) == columns
    balance = books(run)
    assert balance.ethanol_found_kg > 10.0  # it was not a balance of nothing
    assert "hearts rye 1" in run.truth().lots
    assert run.truth().lots["hearts rye 1"].volume_l == 0.0  # bottled


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(3))
def test_a_practice_run(kind, seed):
    run = practice(kind, seed)
    run.advance(run.t_s + 4 * 3600.0)
    books(run)


@pytest.mark.parametrize("trouble", ["coolant-stopped", "hose-off", "boil-over", "vent-blocked"])
def test_a_run_in_trouble(trouble):
    run = Run(
        f"""
        pour 190 L of 22 % vol at 84 C into still
        water on 4 L/min
        heat still with 12 kW
        wait 20 min
        fault {trouble} for 10 min
        wait 40 min
        """,
        demo_size(),
    )
    run.advance(3600.0)
    assert Trouble(trouble) not in run.plant.cases
    books(run)


def test_two_runs_of_a_seed_are_one_and_another_seed_is_another():
    one, same, other = (practice("strip", seed) for seed in (5, 5, 6))
    for run in (one, same, other):
        run.advance(run.t_s + 5400.0)
    assert one.plant.readings() == same.plant.readings()
    assert one.truth() == same.truth()
    assert one.plant.readings() != other.plant.readings()


def test_a_run_is_the_same_however_often_it_is_looked_at():
    often, seldom = practice("strip", 2), practice("strip", 2)
    for _ in range(600):
        often.advance(often.t_s + 10.0)
    seldom.advance(seldom.t_s + 6000.0)
    assert often.plant.readings() == seldom.plant.readings()


def test_many_seeds_can_be_begun():
    volumes = set()
    for seed in range(200):
        for kind in KINDS:
            run = practice(kind, seed)
            assert all(-20 < value < 100 for value in run.plant.readings().values())
        volumes.add(round(run.plant.size.still.volume_l, 3))
    assert len(volumes) == 200
