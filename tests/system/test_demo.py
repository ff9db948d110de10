"""`wormtub demo` as people run it: one command, an address, and nothing left behind."""

import os
import re
import shutil
import signal
import socket
import sqlite3
from contextlib import closing
from pathlib import Path

import httpx
import pytest

from api import site
from api.commands import demo_paper, demo_seed
from api.record.balancing import balance
from api.record.books_read import read_books
from logger.store import database, facts
from logger.store.record_rules import RUNS
from logger.store.scans import ScanReader
from logger.store.tables import Setting
from logger.store.types import now
from tests.asking import PLAIN

pytestmark = [pytest.mark.system, pytest.mark.timeout(420)]  # the first works out its past

PAST_MS = 6 * 3600 * 1000
OPEN = re.compile(r"Open (http://\S+)")
WITHIN_S = 300


@pytest.fixture(scope="module")
def temporary(tmp_path_factory):
    """Where the first demonstration keeps what is gone afterwards."""
    return tmp_path_factory.mktemp("temporary")


@pytest.fixture(scope="module")
def first(start_for_file, port_for_file, temporary):
    """Run the one demonstration here that works its past out, which takes its time."""
    running = start_for_file("demo", "--port", port_for_file, env={"TMPDIR": str(temporary)})
    running.says("Open http://", within_s=WITHIN_S)
    running.url = OPEN.search(running.text)[1]
    return running


@pytest.fixture(scope="module")
def past(first, temporary, tmp_path_factory):
    """The past an earlier demonstration left: the first one's store, copied while it runs."""
    folder = tmp_path_factory.mktemp("past")
    [store] = temporary.rglob(database.FILE_NAME)
    with (
        closing(sqlite3.connect(store)) as there,
        closing(sqlite3.connect(folder / store.name)) as here,
    ):
        there.backup(here)
    return folder


def test_its_record_closes_and_only_what_was_read_hot_cannot_be(past):
    engine = database.engine(past, read_only=True)
    read = read_books(engine)
    engine.dispose()
    assert {read.batch_of_entry(one) for one in read.left_out} == {"first fire"}  # its cleaning
    assert {one.stage for one in read.runs.values()} == set(RUNS)
    found = {one.batch: balance(read, one.batch, None) for one in read.runs.values()}
    assert set(found) == {"rye 0", "rye 1", "rye 2"} | {run.batch for run in demo_paper.RUNS}
    for one in found.values():
        assert abs(one.unaccounted_l) <= 1e-6
    assert {name for name, one in found.items() if one.doubts} == {"rye c"}
    kinds = {lot.kind for lot in read.lots.values()}
    assert {"wash", "low_wines", "feints", "spirit", "backset", "blend", "cask"} <= kinds
    assert found["rye 1"].found["bottled"].pure_alcohol_l > 10.0
    assert found["rye 2"].found["aged"].pure_alcohol_l > 2.0


@pytest.fixture
def kept(past, tmp_path):
    """A data folder that an earlier demonstration left."""
    return shutil.copytree(past, tmp_path / "kept")


@pytest.fixture
def bare(tmp_path):
    """A data folder of an earlier demonstration that kept nothing of its past: soon started on."""
    folder = tmp_path / "bare"
    folder.mkdir()
    database.prepare(folder)
    engine = database.engine(folder)
    said = site.SiteValue(name=demo_seed.NAME, time_zone="UTC", simulated=True)
    common = {"site": database.identity(engine).site, "who": demo_seed.WHO, "effective_at": now()}
    facts.record(engine, Setting.first(key=site.KEY, value=said.model_dump_json(), **common))
    engine.dispose()
    return folder


@pytest.fixture
def demo(start, free_port):
    """Start the demonstration and wait until it says where to look."""

    def run(*words, port=free_port, **more):
        running = start("demo", "--port", port, *words, **more)
        running.says("Open http://", within_s=WITHIN_S)
        running.url = OPEN.search(running.text)[1]
        return running

    return run


def children_of(process):
    listed = Path(f"/proc/{process.pid}/task/{process.pid}/children")
    return [int(pid) for pid in listed.read_text().split()]


def words_of(pid):
    return Path(f"/proc/{pid}/cmdline").read_text().split("\0")


def is_alive(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state != "Z"


def test_it_shows_a_run_under_way_with_hours_of_history_and_leaves_nothing_behind(
    first, past, temporary
):
    assert past  # copied before it is gone
    running = first
    children = children_of(running.process)
    assert len(children) == 3
    assert "simulated" in running.text
    assert httpx.get(f"{running.url}api/site", verify=PLAIN).json()["simulated"] is True
    assert httpx.get(running.url, verify=PLAIN).status_code == 200
    live = httpx.get(f"{running.url}api/live", verify=PLAIN).json()
    assert {one["place"] for one in live["places"]} == {
        "pot", "column", "head", "coolant_in", "coolant_out", "spout", "ferment", "mash", "room"
    }  # fmt: skip
    vessels = {one["vessel"] for one in live["places"]}
    assert vessels == {"still", "mash tun", "fermenter 1", "fermenter 2", None}
    assert all(one["grade"] == "ok" for one in live["places"])

    [run] = httpx.get(f"{running.url}api/record/now", verify=PLAIN).json()["runs"]
    assert [one["kind"] for one in run["proposals"]] == ["power"]  # waits to be confirmed

    asked = {"from_ms": live["now_ms"] - PAST_MS, "to_ms": live["now_ms"], "buckets": 600}
    history = httpx.get(f"{running.url}api/history", params=asked, verify=PLAIN).json()
    [pot] = [trace for trace in history["traces"] if trace["place"] == "pot"]
    filled = sum(low is not None for segment in pot["segments"] for low in segment["lo"])
    spanned = sum(len(segment["lo"]) for segment in pot["segments"])
    assert filled > 500
    assert filled >= spanned - 2  # the joint between the past and the first live scan

    assert running.stop(signal.SIGINT) == 0
    assert "The demonstration has stopped." in running.text
    assert not any(is_alive(pid) for pid in children)
    assert list(temporary.iterdir()) == []


def test_its_data_may_be_kept_and_its_port_come_from_the_environment(start, demo, kept, free_port):
    running = demo("--data", kept)
    before = httpx.get(f"{running.url}api/live", verify=PLAIN).json()["slot"]
    assert running.stop() == 0
    running = start("demo", "--data", kept, env={"WORMTUB_PORT": str(free_port)})
    running.says(f"Open http://127.0.0.1:{free_port}/", within_s=WITHIN_S)
    running.url = f"http://127.0.0.1:{free_port}/"
    running.until(lambda: httpx.get(f"{running.url}api/live", verify=PLAIN).json()["slot"] > before)
    vessels = httpx.get(f"{running.url}api/vessels", verify=PLAIN).json()
    assert sorted(one["kind"] for one in vessels) == [
        "cask", "fermenter", "fermenter", "mash_tun", "still", "tank",
    ]  # fmt: skip
    for batch in ("rye 0", "rye 1", "rye 2"):  # on paper, and watched
        assert "the ferment is done" in ferment_of(running.url, batch)
    assert running.stop() == 0


def ferment_of(url, name):
    """What is said of a batch's ferment."""
    [batch] = [
        one for one in httpx.get(f"{url}api/batches", verify=PLAIN).json() if one["name"] == name
    ]
    return httpx.get(f"{url}api/batches/{batch['id']}/stages", verify=PLAIN).json()["ferment"][
        "sentence"
    ]


def test_a_taken_port_is_one_sentence(start, tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        refused = start("demo", "--port", port, "--data", tmp_path / "kept")
        assert refused.ends() == 2
    assert refused.text == (
        f"Port {port} of 127.0.0.1 is taken by another program: choose another with --port or "
        "WORMTUB_PORT.\n"
    )
    assert not (tmp_path / "kept").exists()


@pytest.mark.parametrize("word", ["log", "serve"])
def test_a_process_that_dies_is_named_and_takes_the_others_along(demo, bare, word):
    running = demo("--data", bare)
    children = {words_of(pid)[4]: pid for pid in children_of(running.process)}
    os.kill(children[word], signal.SIGKILL)
    assert running.ends() == 2
    assert f"wormtub {word} ended by SIGKILL" in running.text
    assert not any(is_alive(pid) for pid in children.values())


def test_children_end_with_a_demonstration_that_is_killed(demo, bare, until):
    running = demo("--data", bare)
    children = children_of(running.process)
    running.kill()
    until(lambda: not any(is_alive(pid) for pid in children), says="the children's end")


def test_a_real_record_is_not_mixed_with_a_simulation(start, demo_bus, tmp_path, free_port):
    logger = start("log", "--data", tmp_path / "real", "--bus", demo_bus.folder)
    logger.says("Logging to")
    engine = database.engine(tmp_path / "real", read_only=True)
    logger.until(ScanReader(engine).latest)
    engine.dispose()
    assert logger.stop() == 0
    refused = start("demo", "--data", tmp_path / "real", "--port", free_port)
    assert refused.ends() == 2
    assert "holds a real record" in refused.text
