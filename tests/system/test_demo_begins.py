"""`wormtub demo` as it begins: its record, the run under way, and what a later one goes on with."""

import sqlite3
from collections import Counter
from contextlib import closing

import httpx
import pytest

from api.commands import demo_jars, demo_paper
from api.record.balancing import balance
from api.record.books_read import read_books
from logger.store import database
from logger.store.record_rules import RUNS
from logger.store.scans import ScanReader
from tests.asking import PLAIN

pytestmark = pytest.mark.system

PAST_MS = 6 * 3600 * 1000


@pytest.fixture
def past(demonstration, tmp_path):
    """The past an earlier demonstration left: its store, copied while it runs."""
    folder = tmp_path / "past"
    folder.mkdir()
    with (
        closing(sqlite3.connect(demonstration.data / database.FILE_NAME)) as there,
        closing(sqlite3.connect(folder / database.FILE_NAME)) as here,
    ):
        there.backup(here)
    return folder


def test_it_shows_a_run_under_way_with_hours_of_history(demonstration):
    url = demonstration.address
    assert httpx.get(f"{url}api/site", verify=PLAIN).json()["simulated"] is True
    assert httpx.get(url, verify=PLAIN).status_code == 200
    live = httpx.get(f"{url}api/live", verify=PLAIN).json()
    assert {one["place"] for one in live["places"]} == {
        "pot", "column", "head", "coolant_in", "coolant_out", "spout", "ferment", "mash", "room"
    }  # fmt: skip
    vessels = {one["vessel"] for one in live["places"]}
    assert vessels == {"still", "mash tun", "fermenter 1", "fermenter 2", None}
    assert all(one["grade"] == "ok" for one in live["places"])

    [run] = httpx.get(f"{url}api/record/now", verify=PLAIN).json()["runs"]
    assert [one["kind"] for one in run["proposals"]] == ["power"]  # waits to be confirmed

    asked = {"from_ms": live["now_ms"] - PAST_MS, "to_ms": live["now_ms"], "buckets": 600}
    history = httpx.get(f"{url}api/history", params=asked, verify=PLAIN).json()
    [pot] = [trace for trace in history["traces"] if trace["place"] == "pot"]
    filled = sum(low is not None for segment in pot["segments"] for low in segment["lo"])
    spanned = sum(len(segment["lo"]) for segment in pot["segments"])
    assert filled > 500
    assert filled >= spanned - 2  # the joint between the past and the first live scan


def test_its_record_closes_and_only_what_was_read_hot_cannot_be(past):
    engine = database.engine(past, read_only=True)
    read = read_books(engine)
    engine.dispose()
    left_out = Counter(read.batch_of_entry(one) for one in read.left_out)
    # A cleaning; and of the run under way the jars since the last third, whose strength was read,
    # and one that is full and not weighed yet.
    assert set(left_out) <= {"first fire", "rye 0"}
    assert left_out["first fire"] == 2
    assert left_out["rye 0"] <= demo_jars.EVERY
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


def test_its_data_may_be_kept_and_its_port_come_from_the_environment(start, past, free_port):
    before = newest_slot(past)
    running = start("demo", "--data", past, env={"WORMTUB_PORT": str(free_port)})
    url = f"http://127.0.0.1:{free_port}/"
    running.says(f"Open {url}", within_s=300)
    running.until(lambda: httpx.get(f"{url}api/live", verify=PLAIN).json()["slot"] > before)
    vessels = httpx.get(f"{url}api/vessels", verify=PLAIN).json()
    assert sorted(one["kind"] for one in vessels) == [
        "cask", "fermenter", "fermenter", "mash_tun", "still", "tank",
    ]  # fmt: skip
    for batch in ("rye 0", "rye 1", "rye 2"):  # on paper, and watched
        assert "the ferment is done" in ferment_of(url, batch)
    assert running.stop() == 0
    assert newest_slot(past) > before  # kept


def newest_slot(folder):
    engine = database.engine(folder, read_only=True)
    newest = ScanReader(engine).latest()
    engine.dispose()
    return newest.slot


def ferment_of(url, name):
    """What is said of a batch's ferment."""
    [batch] = [
        one for one in httpx.get(f"{url}api/batches", verify=PLAIN).json() if one["name"] == name
    ]
    return httpx.get(f"{url}api/batches/{batch['id']}/stages", verify=PLAIN).json()["ferment"][
        "sentence"
    ]
