"""`wormtub simulate` with a script, a seed, and orders to a plant that runs."""

import csv
import signal
import subprocess
import sys

import orjson
import pytest
from typer.testing import CliRunner

from api.cli import app
from logger.plant import orders

SOON_S = 60.0


def wormtub(*words):
    return CliRunner().invoke(app, list(map(str, words)))


@pytest.fixture
def simulate(tmp_path):
    started = []

    def run(*words):
        command = [sys.executable, "-m", "api.cli", "simulate", "--bus", str(tmp_path / "w1")]
        process = subprocess.Popen([*command, *map(str, words)], stdout=subprocess.PIPE, text=True)
        started.append(process)
        assert "A simulated bus is at" in process.stdout.readline()
        return process

    yield run
    for process in started:
        process.kill()
        process.communicate()


def state(folder):
    return orjson.loads(orders.state_file(folder / "w1").read_bytes())["truth"]


def test_a_script_runs_with_its_truth_beside_it(simulate, tmp_path):
    script, truth = tmp_path / "run.txt", tmp_path / "truth.csv"
    script.write_text("pour 190 L of 22 % vol at 84 C into still\nheat still with 9 kW\nwait 1 h\n")
    process = simulate("--script", script, "--seed", 3, "--truth", truth, "--from-s", 600)
    process.send_signal(signal.SIGTERM)
    assert process.wait(SOON_S) == 0
    rows = list(csv.DictReader(truth.read_text().splitlines()))
    assert float(rows[0]["still.pure_alcohol_l"]) == pytest.approx(41.8, rel=0.01)


def test_orders_reach_a_running_plant(simulate, tmp_path, until):
    bus = tmp_path / "w1"
    simulate("--from-s", 0)
    assert wormtub("simulate", "trouble", "--bus", bus, "coolant-warm", "by", 20).exit_code == 0
    until(lambda: state(tmp_path)["troubles"] == ["coolant-warm"], says="the trouble")
    assert wormtub("simulate", "mend", "--bus", bus, "coolant-warm").exit_code == 0
    until(lambda: state(tmp_path)["troubles"] == [], says="the end of the trouble")
    before = state(tmp_path)["t_s"]
    assert wormtub("simulate", "jump", "--bus", bus, 30).exit_code == 0
    until(lambda: state(tmp_path)["t_s"] > before + 1799, says="the jump")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("trouble", "flood"), '"flood" is no fault of the plant; there are coolant-stopped'),
        (("trouble", "storm"), "No simulated plant is at"),
        (("mend", "flood"), '"flood" is no fault of the plant'),
        (("jump", "99999"), "A jump of 5.99994e+06 s cannot be made"),
    ],
)
def test_orders_that_cannot_be_given_are_one_sentence(tmp_path, words, says):
    result = wormtub("simulate", "--bus", tmp_path / "w1", *words)
    assert result.exit_code == 2
    assert result.stderr.startswith(says)
    assert result.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("text", "says"),
    [("boyl\n", 'Line 1: "boyl" is no instruction'), (None, "cannot be read (No such file")],
)
def test_a_script_that_cannot_be_run_is_one_sentence(tmp_path, text, says):
    script = tmp_path / "run.txt"
    if text is not None:
        script.write_text(text)
    result = wormtub("simulate", "--bus", tmp_path / "w1", "--script", script)
    assert result.exit_code == 2
    assert says in result.stderr
    assert result.stderr.count("\n") == 1


def test_runs_are_written_as_traces_by_seed(tmp_path):
    said = wormtub(
        "simulate", "trace", "strip", "--to", tmp_path, "--seed", 11, "--runs", 2, "--every-s", 600
    )
    assert said.exit_code == 0
    assert said.stdout.split() == [
        str(tmp_path / f"strip-{number}{end}.csv") for number in (11, 12) for end in ("", ".truth")
    ]
    assert wormtub("simulate", "trace", "strip", "--to", "/proc/nowhere").exit_code == 2
    assert "there are mash" in wormtub("simulate", "trace", "wine", "--to", tmp_path).output
