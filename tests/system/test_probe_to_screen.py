"""Three real processes on loopback: what happens on the wires is what the service says.

The tests go on with what the one before left, which reads well; the last one stops everything.
"""

import signal

import httpx
import pytest

from logger.bus import control
from logger.bus.faults import Fault
from logger.plant.distillery import DEMO_PROBES
from tests.asking import PLAIN

pytestmark = pytest.mark.system

HEAD = next(probe.probe_id for probe in DEMO_PROBES if probe.place == "head")


class Site:
    """simulate + log + serve, each to be stopped and started again."""

    def __init__(self, start, folder, port) -> None:
        self.start, self.bus, self.data, self.port = start, folder / "bus" / "w1", folder, port
        self.url = f"http://127.0.0.1:{port}/api"
        self.simulator = start("simulate", "--bus", self.bus)
        self.simulator.says("A simulated bus is at")
        self.logger = self.log()
        self.service = self.serve()

    def log(self):
        logger = self.start("log", "--data", self.data, "--bus", self.bus)
        logger.says("Logging to")
        return logger

    def serve(self):
        service = self.start("serve", "--data", self.data, "--port", self.port)
        service.says("Wormtub is at")
        return service

    def live(self):
        return httpx.get(f"{self.url}/live", timeout=5, verify=PLAIN).json()

    def head(self):
        state = self.live()
        found = [one for one in state["unplaced"] if one["probe_id"] == HEAD]
        return found[0] if found else {"grade": None, "value": None}

    def until(self, condition, says):
        return self.service.until(condition, says=says)

    def reads_well(self):
        return self.head()["grade"] == "ok"


@pytest.fixture(scope="module")
def running(start_for_file, tmp_path_factory, port_for_file):
    return Site(start_for_file, tmp_path_factory.mktemp("site"), port_for_file)


@pytest.fixture
def site(running):
    running.until(running.reads_well, "a reading")
    return running


@pytest.mark.parametrize(
    ("fault", "grade"),
    [
        (Fault.CRC, "crc"),
        (Fault.EMPTY, "empty"),
        (Fault.POWER_ON, "power_on"),
        (Fault.ZEROS, "bus_low"),
        (Fault.VANISHED, "gone"),
        (Fault.HANG, "timed_out"),
    ],
)
def test_a_fault_shows_without_a_number_and_clears(site, fault, grade):
    control.ask(site.bus, HEAD, fault)
    site.until(lambda: site.head()["grade"] == grade, f"the grade {grade}")
    shown = site.head()
    assert shown["value"] is None
    assert shown["last_good_value"] > 50
    control.ask(site.bus, HEAD, None)
    site.until(site.reads_well, "the probe healed")
    assert site.head()["value"] > 50


def test_the_service_restarts_and_goes_on(site):
    before = site.live()["slot"]
    assert site.service.stop() == 0
    site.service = site.serve()
    site.until(lambda: (site.live()["slot"] or 0) > before, "scans after the restart")
    assert site.reads_well()
    assert not site.live()["stale"]


def test_the_service_is_killed_and_goes_on(site):
    before = site.live()["slot"]
    site.service.kill()
    site.service = site.serve()
    site.until(lambda: (site.live()["slot"] or 0) > before, "scans after the kill")


def test_a_killed_logger_is_stale_until_it_is_back(site):
    site.until(lambda: site.live()["period_s"] == 1, "the pace of a hot still")
    before = site.live()["slot"]
    assert site.logger.kill() == -signal.SIGKILL
    site.until(lambda: site.live()["stale"], "stale")
    site.logger = site.log()
    site.until(lambda: not site.live()["stale"], "fresh again")
    assert site.live()["slot"] > before


def test_the_bus_is_taken_away_and_comes_back(site):
    assert site.simulator.stop() == 0
    site.until(lambda: site.head()["grade"] == "gone", "every probe gone")
    assert site.head()["value"] is None
    site.simulator = site.start("simulate", "--bus", site.bus)
    site.until(site.reads_well, "the bus is back")


def test_a_clean_stop_of_everything(site):
    for process in (site.service, site.logger, site.simulator):
        assert process.stop() == 0
        assert "Traceback" not in process.text
