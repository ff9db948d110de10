"""`wormtub probes` and `wormtub simulate`: what is on the bus, in plain words."""

import signal
import subprocess
import sys
from time import monotonic

import pytest
from typer.testing import CliRunner

from api.cli import app
from logger.bus.faults import Fault
from logger.bus.simulated import SimulatedBus, SimulatedProbe
from logger.plant.distillery import DEMO_PROBES, hearts_run
from logger.plant.driver import PlantDriver

runner = CliRunner()
SOON_S = 30.0
LIKELY_COPY = (
    "A likely copy may be some degrees off, more so when hot: check it in ice and in steam before "
    "trusting it."
)


@pytest.fixture
def bus_dir(tmp_path):
    return tmp_path / "still" / "bus"


@pytest.fixture
def simulate(bus_dir):
    """Starts `wormtub simulate` as a process of its own and waits until it says it is there."""
    started = []

    def start(*options):
        process = subprocess.Popen(
            [sys.executable, "-m", "api.cli", "simulate", "--bus", str(bus_dir), *options],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        started.append(process)
        assert str(bus_dir) in process.stdout.readline()
        return process

    yield start
    for process in started:
        process.kill()
        process.communicate()


def wormtub(*words):
    return runner.invoke(app, [str(word) for word in words])


def until(condition):
    give_up_s = monotonic() + SOON_S
    while not condition():
        assert monotonic() < give_up_s


def test_probes_tells_of_each_what_it_is_and_reads(bus_dir):
    simulated = SimulatedBus(
        bus_dir,
        [
            SimulatedProbe("28-0000075a1b2c", lambda _: 78.3125, noise_c=0.0),
            SimulatedProbe("28-3ce104572b9a", lambda _: 20.0, master=2, external=False),
        ],
    )
    simulated.fault("28-3ce104572b9a", Fault.ZEROS)
    result = wormtub("probes", "--bus", bus_dir)
    assert result.exit_code == 0
    assert result.stdout.splitlines() == [
        f"2 on {bus_dir}:",
        "28-0000075a1b2c  78.31 °C",
        "    DS18B20, w1_bus_master1, 12 bit, supply of its own",
        "28-3ce104572b9a  no reading: the data line is shorted to ground",
        "    DS18B20, w1_bus_master2, 12 bit, supplied by the data line, likely a copy",
        LIKELY_COPY,
    ]


@pytest.mark.parametrize("fault", [one for one in Fault if one not in {Fault.VANISHED, Fault.SLOW}])
def test_probes_says_why_there_is_no_reading(bus_dir, fault):
    simulated = SimulatedBus(bus_dir, [SimulatedProbe("28-0000075a1b2c", lambda _: 20.0)])
    simulated.fault("28-0000075a1b2c", fault)
    said = wormtub("probes", "--bus", bus_dir).stdout
    good = fault in {Fault.GENUINE_85, Fault.STUCK}
    assert ("no reading: " in said) is not good
    assert ("°C\n" in said) is good
    simulated.close()


def test_probes_reads_a_barometer_named_in_the_settings(bus_dir):
    PlantDriver(bus_dir, hearts_run()).close()
    simulated = PlantDriver(bus_dir, hearts_run())
    said = wormtub("probes", "--bus", bus_dir, "--iio", f"bmp280/pressure@{bus_dir.parent}/iio")
    assert "iio-bmp280-pressure  10" in said.stdout
    assert " hPa\n    bmp280, iio\n" in said.stdout
    simulated.close()


def test_probes_without_any_says_what_to_check(bus_dir):
    bus_dir.mkdir(parents=True)
    result = wormtub("probes", "--bus", bus_dir)
    assert result.exit_code == 0
    assert "dtoverlay=w1-gpio" in result.stdout


def test_probes_of_an_unknown_folder_is_one_sentence(bus_dir):
    result = wormtub("probes", "--bus", bus_dir)
    assert result.exit_code == 2
    assert str(bus_dir) in result.stderr
    assert result.stderr.count("\n") == 1


def test_a_simulated_bus_obeys_and_stops_cleanly(simulate, bus_dir):
    process = simulate("--speed", "60")
    head = next(probe.probe_id for probe in DEMO_PROBES if probe.place == "head")
    file = bus_dir / head / "w1_slave"
    before = file.read_bytes()
    until(lambda: file.read_bytes() != before)
    assert wormtub("simulate", "fault", "--bus", bus_dir, "head", "empty").exit_code == 0
    until(lambda: file.read_bytes() == b"")
    assert wormtub("simulate", "--bus", bus_dir, "fault", head, "none").exit_code == 0
    until(lambda: file.read_bytes() != b"")
    process.send_signal(signal.SIGTERM)
    out, err = process.communicate(timeout=SOON_S)
    assert (process.returncode, out, err) == (0, "", "")
    assert list(bus_dir.iterdir()) == []


def test_a_simulated_bus_begins_where_it_is_told(simulate, bus_dir):
    simulate("--from-s", "0")
    pot = (bus_dir / DEMO_PROBES[0].probe_id / "w1_slave").read_text()
    assert 16_000 < int(pot.split("t=")[1]) < 19_000  # freshly charged and cold


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("simulate",), "--bus"),
        (("simulate", "--bus", "/sys/bus/w1/devices"), "--bus"),
        (("simulate", "--bus", "/proc/nowhere/bus"), "/proc/nowhere/bus"),
        (("simulate", "fault", "--bus", "/nowhere/bus", "head", "crc"), "wormtub simulate"),
        (("simulate", "fault", "--bus", "/nowhere/bus", "head", "explode"), "low-supply"),
        (("simulate", "fault", "head", "crc"), "--bus"),
    ],
)
def test_what_cannot_be_simulated_is_one_sentence(words, part):
    result = wormtub(*words)
    assert result.exit_code == 2
    assert part in result.stderr
    assert result.stderr.count("\n") == 1
