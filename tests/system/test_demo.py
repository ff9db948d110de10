"""`wormtub demo` as people run it: refused where it must be, and ended with all it started."""

import os
import re
import signal
import socket

import pytest

from api import site
from api.commands import demo_seed
from logger.store import database, facts
from logger.store.scans import ScanReader
from logger.store.tables import Setting
from logger.store.types import now
from tests.children import children_of, is_alive, words_of

pytestmark = pytest.mark.system

OPEN = re.compile(r"Open (http://\S+)")
WITHIN_S = 300


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
