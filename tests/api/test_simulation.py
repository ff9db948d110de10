"""The panel of a simulation: orders reach the plant's own process by its control folder."""

import pytest

from api import simulation_words as words
from api.site import SiteValue
from logger.bus.faults import Fault
from logger.plant import orders
from logger.plant.distillery import DEMO_PROBES, demo_size, hearts_run
from logger.plant.driver import PlantDriver
from logger.plant.troubles import DEFAULTS, Trouble
from logger.store import database, facts
from logger.store.tables import Setting

START = 1_790_000_000
PROBES = {one.place: one.probe_id for one in DEMO_PROBES}
POT, HEAD = PROBES["pot"], PROBES["head"]


def sentence(answer, status):
    assert answer.status_code == status, answer.text
    return answer.json()["error"]["sentence"]


@pytest.fixture
def simulated(client, stillhouse, scan):
    """Say that the site is a simulation, as only the demonstration does."""
    stillhouse.log(scan(START, **{POT: 90, HEAD: 80}))
    engine = stillhouse.writer._engine
    value = SiteValue(name="Demo", time_zone="UTC", simulated=True).model_dump_json()
    base = {
        "site": database.identity(engine).site,
        "who": "demo",
        "effective_at": client.app.house.now,
    }
    facts.record(engine, Setting.first(key="site", value=value, **base))
    return client


@pytest.fixture
def driver(stillhouse):
    (stillhouse.data / "bus").mkdir(parents=True)
    made = PlantDriver(stillhouse.data / "bus" / "w1", hearts_run())
    yield made
    made.close()


@pytest.mark.parametrize(
    ("method", "path", "body"),
    [
        ("GET", "", None),
        ("POST", "/probes", {"probe_id": POT, "fault": "crc"}),
        ("POST", "/plant", {"fault": "heat-lost", "on": True}),
        ("POST", "/jump", {"seconds": 60}),
    ],
)
def test_in_a_real_house_nothing_can_be_caused(client, method, path, body):
    answer = client.request(method, f"/api/simulation{path}", json=body)
    assert "real house and no simulation" in sentence(answer, 404)


def test_it_is_shown_with_everything_that_can_be_caused(simulated, driver):
    found = simulated.get("/api/simulation").json()
    assert "simulated" in found["says"]
    assert found["plant"]["stages"]["still"] == "spirit"
    assert found["plant"]["spout_abv"] > 40
    assert found["places"] == list(demo_size().places)
    kinds = {(one["kind"], one["name"]) for one in found["faults"]}
    assert kinds == {("bus", f) for f in Fault} | {("plant", t) for t in Trouble}
    assert words.AMOUNTS.keys() == DEFAULTS.keys()
    assert [(one["probe_id"], one["fault"]) for one in found["probes"]] == [
        (POT, None),
        (HEAD, None),
    ]
    assert found["standing"] == []


def test_what_is_exported_of_it_is_called_simulated(simulated):
    answer = simulated.get("/api/export.csv", params={"from": "2026-01-01T00:00:00Z"})
    assert "wormtub-simulated-2026" in answer.headers["content-disposition"]
    assert "simulated-stock" in simulated.get("/api/stock.csv").headers["content-disposition"]
    vessel = {"name": "still 1", "kind": "still", "volume_l": 60}
    held = {"vessel_id": simulated.post("/api/vessels", json=vessel).json()["id"]}
    held |= {"batch": "rye 1", "stage": "spirit"}
    run = simulated.post("/api/occupancies", json=held).json()
    jar = simulated.post(f"/api/runs/{run['id']}/jars", json={"number": 1}).json()
    assert ">simulated</text>" in simulated.get(f"/api/labels/jars/{jar['id']}").text


def test_a_probes_fault_comes_and_goes(simulated, driver):
    body = {"probe_id": POT, "fault": "crc"}
    found = simulated.post("/api/simulation/probes", json=body).json()
    assert {one["probe_id"]: one["fault"] for one in found["probes"]} == {POT: "crc", HEAD: None}
    driver.obey()
    assert "NO" in (driver.bus.folder / POT / "w1_slave").read_text()
    found = simulated.post("/api/simulation/probes", json=body | {"fault": None}).json()
    assert {one["fault"] for one in found["probes"]} == {None}
    driver.obey()
    assert "YES" in (driver.bus.folder / POT / "w1_slave").read_text()


def test_a_fault_of_the_plant_comes_and_goes(simulated, driver):
    body = {"fault": "coolant-warm", "on": True, "amount": 12}
    found = simulated.post("/api/simulation/plant", json=body).json()
    assert found["standing"] == [{"name": "coolant-warm", "amount": 12, "places": []}]
    driver.obey()
    assert Trouble.COOLANT_WARM in driver.run.plant.cases
    swapped = {"fault": "probes-swapped", "on": True, "places": ["pot", "head"]}
    assert len(simulated.post("/api/simulation/plant", json=swapped).json()["standing"]) == 2
    for name in ("coolant-warm", "probes-swapped"):
        found = simulated.post("/api/simulation/plant", json={"fault": name, "on": False}).json()
    assert found["standing"] == []
    driver.obey()
    assert driver.run.plant.cases == {}


def test_time_is_made_to_pass_once(simulated, driver):
    assert simulated.post("/api/simulation/jump", json={"seconds": 120}).status_code == 200
    assert driver.obey() == 120
    assert driver.obey() == 0
    before = simulated.get("/api/simulation").json()["plant"]["t_s"]
    driver.step(driver.run.t_s + 30)
    assert simulated.get("/api/simulation").json()["plant"]["t_s"] == before + 30


@pytest.mark.parametrize(
    ("path", "body", "says"),
    [
        ("plant", {"fault": "probe-slipped", "on": True}, "is at one place"),
        ("plant", {"fault": "probe-buried", "on": True, "places": ["attic"]}, 'no place "attic"'),
        ("plant", {"fault": "heat-lost", "on": True, "amount": 3}, "heat-lost has no amount"),
        ("plant", {"fault": "ghosts", "on": True}, 'fault is "ghosts"; give'),
        ("probes", {"probe_id": "28-ffffffffffff", "fault": "crc"}, "No simulated probe 28-ffff"),
        ("probes", {"probe_id": POT, "fault": "tired"}, 'fault is "tired"; give'),
        ("jump", {"seconds": 0}, "must be more than 0"),
        ("jump", {"seconds": 1e6}, "must be at most 86400"),
    ],
)  # fmt: skip
def test_what_cannot_be_caused_is_told(simulated, driver, path, body, says):
    assert says in sentence(simulated.post(f"/api/simulation/{path}", json=body), 422)


def test_where_the_plant_does_not_run_that_is_told(simulated):
    found = simulated.get("/api/simulation").json()
    assert found["plant"] is None
    assert "start it with wormtub demo" in found["says"]
    told = sentence(simulated.post("/api/simulation/jump", json={"seconds": 60}), 422)
    assert "start it with wormtub simulate" in told


def test_the_longest_jump_is_the_plants(simulated, driver):
    longest = simulated.get("/api/simulation").json()["longest_jump_s"]
    assert longest == orders.LONGEST_JUMP_S
