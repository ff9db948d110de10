"""The plant behind the ordinary simulated bus: read back as any bus is, and given orders."""

import csv
from itertools import pairwise
from threading import Event, Thread

import orjson
import pytest

from logger.bus import control
from logger.bus.faults import Fault
from logger.bus.inventory import is_likely_copy
from logger.bus.sweep import CompositeBus, IioBus, OneWireBus
from logger.errors import PlantError
from logger.plant import orders
from logger.plant.distillery import (
    DEMO_PROBES,
    demo_channels,
    demo_size,
    hearts_run,
    on_the_scale_kg,
)
from logger.plant.driver import PlantDriver
from logger.plant.troubles import Trouble
from logger.reading import Grade

PLENTY_S = 5.0
PLACES = demo_size().places


@pytest.fixture
def driver(tmp_path):
    made = PlantDriver(tmp_path / "w1", hearts_run())
    yield made
    made.close()


def test_every_place_of_the_plant_has_one_probe_and_one_of_them_is_a_copy():
    felt = {probe.feels for probe in DEMO_PROBES}
    assert felt == set(PLACES) - {"reflux_out"}  # as in many a house, nobody measures there
    assert len({probe.probe_id for probe in DEMO_PROBES}) == len(DEMO_PROBES)
    assert sum(is_likely_copy(probe.probe_id) for probe in DEMO_PROBES) == 1


def test_what_it_writes_is_read_back(driver):
    folder = driver.bus.folder
    bus = CompositeBus([OneWireBus(folder), IioBus(demo_channels(folder))])
    stop = Event()

    def answer():
        while not stop.wait(0.005):
            driver.bus.answer()

    answering = Thread(target=answer)
    answering.start()
    *temperatures, pressure, mass = bus.read_scan(deadline_s=PLENTY_S)
    stop.set()
    answering.join()
    shown = driver.run.plant.readings()
    by_id = {probe.probe_id: probe.feels for probe in DEMO_PROBES}
    assert len(temperatures) == len(DEMO_PROBES)
    for reading in temperatures:
        assert reading.grade is Grade.OK
        assert reading.value == pytest.approx(shown[by_id[reading.series.probe_id]], abs=0.2)
    assert pressure.value == pytest.approx(driver.run.plant.pressure_hpa, abs=1 / 32)
    assert mass.value == pytest.approx(on_the_scale_kg(driver.run.plant), abs=0.005)
    bus.close()


def test_the_plant_goes_on_with_the_bus(driver):
    before = driver.run.plant.readings()["pot"]
    driver.step(driver.run.t_s + 600.0)
    assert driver.run.plant.readings()["pot"] > before + 0.1


def test_faults_of_the_bus_work_as_on_any(driver):
    head = DEMO_PROBES[1].probe_id
    control.ask(driver.bus.folder, head, Fault.EMPTY)
    driver.obey()
    assert (driver.bus.folder / head / "w1_slave").read_bytes() == b""
    control.ask(driver.bus.folder, head, None)
    driver.obey()
    assert (driver.bus.folder / head / "w1_slave").read_bytes() != b""


def test_troubles_come_and_go_by_order(driver):
    bus, plant = driver.bus.folder, driver.run.plant
    orders.befall(bus, "coolant-weak by 10", PLACES)
    driver.obey()
    assert plant.cases[Trouble.COOLANT_WEAK].amount == 10.0
    since = plant.since_s[Trouble.COOLANT_WEAK]
    driver.step(driver.run.t_s + 30.0)
    driver.obey()
    assert plant.since_s[Trouble.COOLANT_WEAK] == since  # it stands, and does not begin again
    orders.mend(bus, "coolant-weak")
    driver.obey()
    assert not plant.cases


def test_a_jump_is_made_once(driver):
    orders.jump(driver.bus.folder, 1200.0)
    assert driver.obey() == 1200.0
    assert driver.obey() == 0.0


def test_what_nobody_can_read_orders_nothing(driver):
    for name in ("trouble-nonsense", "trouble-storm", "jump"):
        (driver.bus.control / name).write_text("by and by\n")
    assert driver.obey() == 0.0
    assert not driver.run.plant.cases


@pytest.mark.parametrize("seconds", [0.0, -5.0, 90_000.0, float("nan")])
def test_a_jump_too_far_or_back_is_one_sentence(driver, seconds):
    with pytest.raises(PlantError, match="give more than 0 and at most 86400 s"):
        orders.jump(driver.bus.folder, seconds)


def test_without_a_plant_there_is_nothing_to_order(tmp_path):
    with pytest.raises(PlantError, match="start it with wormtub simulate"):
        orders.befall(tmp_path / "w1", "storm", PLACES)


def test_it_says_how_it_stands_and_keeps_the_truth(tmp_path):
    made = PlantDriver(tmp_path / "w1", hearts_run(), truth_file=tmp_path / "truth.csv")
    for _ in range(5):
        made.step(made.run.t_s + 1.0)
    said = orjson.loads(orders.state_file(made.bus.folder).read_bytes())
    assert said["truth"]["stages"] == {"still": "spirit"}
    assert said["truth"]["spout_abv"] > 60
    made.close()
    assert not orders.state_file(made.bus.folder).exists()
    rows = list(csv.DictReader((tmp_path / "truth.csv").read_text().splitlines()))
    assert len(rows) == 6
    true_abv = said["truth"]["vessels"]["still"]["abv"]
    assert float(rows[-1]["still.abv"]) == pytest.approx(true_abv, abs=1e-3)
    assert float(rows[-1]["head"]) > 80


def test_noise_leaves_fewer_than_half_of_the_steps_at_zero(driver):
    pot = driver.bus.folder / DEMO_PROBES[0].probe_id / "w1_slave"
    said = []
    for _ in range(400):
        driver.step(driver.run.t_s + 1.0)
        said.append(pot.read_bytes()[:5])
    zero = sum(a == b for a, b in pairwise(said)) / len(said)
    assert 0.2 < zero < 0.65


def test_it_serves_until_told_to_stop_and_jumps_meanwhile(driver, until):
    stop, began_s = Event(), driver.run.t_s
    thread = Thread(target=driver.serve, args=(stop,), kwargs={"speed": 30.0})
    thread.start()
    orders.jump(driver.bus.folder, 3600.0)
    until(lambda: driver.run.t_s > began_s + 3600.0, says="the jump")
    stop.set()
    thread.join()
    assert driver.run.t_s < began_s + 3600.0 + 30.0 * 60
