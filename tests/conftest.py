"""Shared by all rooms: waiting with a deadline, free ports, and real processes with their logs."""

import gc
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Thread

import httpx
import pytest
from hypothesis import settings

from tests import sharing
from tests.asking import PLAIN
from tests.demonstration import DEMO
from tests.loaded import COLD, Forked, Loaded
from tests.ports import find_port

# Property tests are judged by what they find, not by the machine's load; a clean checkout's run
# repeats itself, everybody else's goes on looking. tests/bench/examples.py looks longer.
settings.register_profile(
    "house",
    deadline=None,
    derandomize="CI" in os.environ,
    max_examples=int(os.environ.get("WORMTUB_TEST_EXAMPLES", "40")),
)
settings.load_profile("house")

# What was compiled is kept even where the surroundings say not to: processes start here by the
# hundred, and would compile it all anew each time.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    return sharing.scheduler(config, log)


def pytest_collection_modifyitems(items):
    for item in items:
        if "demonstration" in getattr(item, "fixturenames", ()):
            assert sharing.is_on_the_demonstration(item), f"name {item.path} in tests/sharing.py"
            item.add_marker(pytest.mark.timeout(420))  # the first works out its past
    items.sort(key=sharing.place)


def pytest_collection_finish():
    """Leave what stays to the end out of every later search for garbage: a tenth of the work."""
    gc.collect()
    gc.freeze()


LOADED = Loaded()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(nextitem):
    """End the demonstration after its last test, and that one's second try."""
    done = yield
    if nextitem is None or not sharing.is_on_the_demonstration(nextitem):
        DEMO.end()
    return done


def pytest_sessionfinish():
    DEMO.end()  # where the tests are broken off
    LOADED.end()


@pytest.fixture
def demonstration(tmp_path_factory):
    """Go on with the one demonstration, which takes long to work out its past."""
    return DEMO.up(tmp_path_factory.mktemp)


WITHIN_S = 60.0  # how long a condition may take on a loaded machine before the test fails


def wait_until(condition, *, within_s=WITHIN_S, says="the condition", pause=time.sleep):
    """Return the condition's first true value; fail where the deadline passes first.

    It is asked the less often the longer it takes: what is waited for shares the machine.
    """
    began = time.monotonic()
    while True:
        if value := condition():
            return value
        waited_s = time.monotonic() - began
        if waited_s > within_s:
            pytest.fail(f"{says} did not come true within {within_s:g} s")
        pause(min(max(0.01, 0.1 * waited_s), 0.1))


@dataclass
class Running:
    """A `wormtub` process started by a test, and the file its words go to."""

    process: subprocess.Popen | Forked
    log: Path
    words: tuple[str, ...]

    @property
    def text(self):
        return self.log.read_text(errors="replace")

    def until(self, condition, *, within_s=WITHIN_S, says="the condition"):
        def alive_and_true():
            value = condition()
            if not value and self.process.poll() is not None:
                pytest.fail(f"{self.words} ended with {self.process.returncode}:\n{self.text}")
            return value

        try:
            return wait_until(alive_and_true, within_s=within_s, says=says)
        except pytest.fail.Exception as failure:
            pytest.fail(f"{failure}\n{self.words} said:\n{self.text}")

    def says(self, part, *, within_s=WITHIN_S):
        self.until(lambda: part in self.text, within_s=within_s, says=f"{part!r} in the log")

    def ends(self, *, within_s=WITHIN_S):
        try:
            return self.process.wait(within_s)
        except subprocess.TimeoutExpired:
            pytest.fail(f"{self.words} did not end within {within_s:g} s:\n{self.text}")

    def stop(self, number=signal.SIGTERM, *, within_s=WITHIN_S):
        if self.process.poll() is None:
            self.process.send_signal(number)
        return self.ends(within_s=within_s)

    def kill(self):
        return self.stop(signal.SIGKILL)


@dataclass
class Starter:
    """Starts `wormtub WORD ...`; all that it started is gone when the test ends."""

    folder: Path
    environment: dict[str, str]
    started: list[Running] = field(default_factory=list)

    def __call__(self, *words, env=(), under=(), program=(), script="") -> Running:
        """Start `wormtub`, or a script that runs it; cold under another command or as a program."""
        log = self.folder / f"process-{len(self.started)}.log"
        words, environment = tuple(map(str, words)), self.environment | dict(env)
        with log.open("wb") as out:
            if under or program:
                process = subprocess.Popen(
                    [*under, sys.executable, *(program or COLD), *words],
                    stdout=out,
                    stderr=subprocess.STDOUT,
                    stdin=subprocess.DEVNULL,
                    env=environment,
                )
            else:
                process = LOADED.start(words, environment=environment, out=out, script=script)
        running = Running(process, log, words)
        self.started.append(running)
        return running

    def end_all(self):
        """Ask once, so that a parent can end its children; then insist."""
        for running in self.started:
            running.process.terminate()
        for running in self.started:
            try:
                running.process.wait(10)
            except subprocess.TimeoutExpired:
                running.process.kill()
                running.process.wait()


@pytest.fixture
def until():
    """Wait on a condition with a deadline: `until(lambda: ..., within_s=20, says="...")`."""
    return wait_until


@pytest.fixture
def free_port():
    """Find a port of the loopback that nobody listens on."""
    return find_port()


def starter_in(folder):
    """Make what starts processes, with nothing of this process's own settings."""
    clean = {key: value for key, value in os.environ.items() if not key.startswith("WORMTUB_")}
    clean["PYTHONPATH"] = str(Path(__file__).parents[1])
    clean.pop("NOTIFY_SOCKET", None)
    return Starter(folder, clean)


@pytest.fixture
def start(tmp_path_factory):
    """Start real processes: `logger = start("log", "--data", data, "--bus", bus)`."""
    starter = starter_in(tmp_path_factory.mktemp("processes"))
    yield starter
    starter.end_all()


@pytest.fixture(scope="module")
def start_for_file(tmp_path_factory):
    """Start real processes that all tests of a file go on with."""
    starter = starter_in(tmp_path_factory.mktemp("processes"))
    yield starter
    starter.end_all()


@pytest.fixture(scope="module")
def port_for_file():
    """Find a port that all tests of a file go on with."""
    return find_port()


@pytest.fixture
def answers():
    """Say whether an address answers: `until(lambda: answers("http://127.0.0.1:8080/"))`."""

    def asked(url):
        try:
            return httpx.get(url, timeout=2, verify=PLAIN).status_code == httpx.codes.OK
        except httpx.TransportError:
            return False

    return asked


@dataclass
class DemoBus:
    """The demo's probes as files, kept in time by a thread; faults come and go on command."""

    folder: Path
    probe_ids: dict[str, str]  # by place
    ask: Callable

    @property
    def iio(self):
        return f"bmp280/pressure@{self.folder.parent / 'iio'}"

    def fault(self, place, fault):
        self.ask(self.folder, self.probe_ids[place], fault)


@pytest.fixture
def demo_bus(tmp_path):
    """A one-wire folder in the middle of a spirit run: `demo_bus.fault("head", Fault.CRC)`."""
    from logger.bus import control  # noqa: PLC0415 - few tests need it
    from logger.plant import distillery  # noqa: PLC0415
    from logger.plant.driver import PlantDriver  # noqa: PLC0415

    stop, folder = Event(), tmp_path / "bus" / "w1"
    driver = PlantDriver(folder, distillery.hearts_run())
    thread = Thread(target=driver.serve, args=(stop,))
    thread.start()
    yield DemoBus(folder, {one.place: one.probe_id for one in distillery.DEMO_PROBES}, control.ask)
    stop.set()
    thread.join()
    driver.close()
