"""A past made by the plant is what a logger would have stored."""

import pytest

from logger.cadence import Cadence
from logger.plant import history
from logger.plant.distillery import DEMO_PROBES, RACK_KG, demo_channels, hearts_run
from logger.plant.run import Run
from logger.reading import Grade
from logger.settings import Settings
from logger.store import database
from logger.store.scans import ScanReader

FIRST = 1_700_000_004


@pytest.fixture
def engine(tmp_path):
    database.prepare(tmp_path)
    made = database.engine(tmp_path)
    yield made
    made.dispose()


def past(tmp_path, run, seed=1):
    barometer, scale = demo_channels(tmp_path / "w1")
    cadence = Cadence(Settings(data=tmp_path))
    return history.Past(run, cadence, barometer=barometer, scale=scale, seed=seed)


def test_scans_come_fast_while_hot_and_slowly_while_not(tmp_path):
    idle = list(past(tmp_path, Run("wait 1 h")).scans(FIRST, FIRST + 600))
    assert {scan.period_s for scan in idle} == {10}
    assert [scan.slot % 10 for scan in idle] == [0] * len(idle) == [0] * 60
    hot = list(past(tmp_path, hearts_run()).scans(FIRST, FIRST + 600))
    assert hot[0].period_s == 10  # nobody knew yet
    assert {scan.period_s for scan in hot[1:]} == {1}
    assert [scan.slot for scan in hot[1:]] == list(range(hot[0].slot + 1, FIRST + 600))


def test_what_is_stored_is_what_the_plant_said(tmp_path, engine):
    run = hearts_run()
    number = history.store(engine, past(tmp_path, run).scans(FIRST, FIRST + 1500), FIRST + 1500)
    reader = ScanReader(engine)
    stored = list(reader.scans(FIRST, FIRST + 1500))
    assert len(stored) == number > 1400
    last = {one.series.probe_id: one for one in stored[-1].readings}
    assert len(last) == len(DEMO_PROBES) + 2  # barometer and scale
    assert last["iio-scale"].value == pytest.approx(RACK_KG + run.plant.run_off_kg, abs=0.02)
    assert run.plant.run_off_kg > 1.0
    shown = run.plant.readings()
    for probe in DEMO_PROBES:
        reading = last[probe.probe_id]
        assert reading.grade is Grade.OK
        assert reading.value == pytest.approx(shown[probe.feels], abs=0.3)
    assert run.t_s == hearts_run().t_s + 1500  # it stands where the past ends


def test_a_past_is_the_same_for_its_seed(tmp_path):
    one, same, other = (
        list(past(tmp_path, hearts_run(), seed).scans(FIRST, FIRST + 60)) for seed in (1, 1, 2)
    )
    assert one == same
    assert one != other
