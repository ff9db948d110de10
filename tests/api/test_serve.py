"""The service as a process of its own: its address, its streams, its stop, its refusals."""

import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing, contextmanager
from pathlib import Path

import httpx
import pytest
from typer.testing import CliRunner

from api.cli import app
from logger.reading import Grade
from tests.asking import PLAIN

pytestmark = pytest.mark.system
START = 1_790_000_000
COMMITTED = 2000  # scans: more than the kernel's own buffers hold, 4 MB as they come
ROOT = Path(__file__).parents[2]
# root reads and writes whatever it likes, until it gives these rights away
WITHOUT_PRIVILEGE = (
    ("setpriv", "--bounding-set", "-dac_override,-dac_read_search") if os.geteuid() == 0 else ()
)


class Stream:
    """A page that listens, in a thread of its own."""

    def __init__(self, address, **headers) -> None:
        self.events = []
        self.ended = threading.Event()
        self.connected = threading.Event()
        self.path = f"{address}/api/live/events"
        self.headers = headers
        self.thread = threading.Thread(target=self._listen, daemon=True)
        self.thread.start()

    def _listen(self):
        fields = {}
        try:
            with httpx.stream(
                "GET", self.path, headers=self.headers, timeout=60, verify=PLAIN
            ) as answer:
                for line in answer.iter_lines():
                    self.connected.set()
                    name, _, value = line.partition(": ")
                    fields[name] = value
                    if not line and "event" in fields:
                        self.events.append((fields["event"], json.loads(fields["data"])))
                    if not line:
                        fields = {}
        finally:
            self.ended.set()

    @property
    def slots(self):
        return [data["slot"] for name, data in self.events if name == "scan"]


@pytest.fixture
def running(start, stillhouse, free_port):
    """Start `wormtub serve` on the folder and wait until it says where it is."""
    address = f"http://127.0.0.1:{free_port}"

    def started():
        process = start("serve", "--data", stillhouse.data, "--port", free_port)
        process.says(f"Wormtub is at {address}")
        return process, address

    return started


def test_scans_reach_every_watcher_as_they_are_committed(running, stillhouse, scan, until):
    _, address = running()
    streams = [Stream(address) for _ in range(3)]
    until(lambda: all(stream.connected.is_set() for stream in streams), says="the streams")
    for number in range(5):
        stillhouse.log(scan(START + number, pot=20 + number))
    wanted = list(range(START, START + 5))
    until(lambda: all(stream.slots == wanted for stream in streams), says="every scan, in order")


def test_a_watcher_comes_back_after_a_restart_and_has_missed_nothing(
    running, stillhouse, scan, until
):
    stillhouse.log(scan(START, pot=20))
    first, address = running()
    stream = Stream(address)
    until(stream.connected.is_set)
    stillhouse.log(scan(START + 1, pot=21))
    until(lambda: stream.slots == [START + 1])
    assert first.stop() == 0
    stillhouse.log(scan(START + 2, pot=22), scan(START + 3, pot=23))
    _, address = running()
    stillhouse.log(scan(START + 4, pot=24))
    again = Stream(address, **{"Last-Event-ID": f"{START + 1}.0"})
    until(lambda: again.slots == [START + 2, START + 3, START + 4], says="the scans missed")


def test_a_page_that_stops_reading_is_asked_to_load_again_and_holds_nothing_up(
    running, stillhouse, scan, until
):
    stillhouse.log(scan(START, pot=20))
    _, address = running()
    quick = Stream(address)
    until(quick.connected.is_set)
    wide = {f"28-{number:012x}": Grade.GONE for number in range(100)}  # 4 kB an event
    with stuck_page(address) as page:
        for begin in range(START + 1, START + COMMITTED, 50):
            stillhouse.log(*(scan(slot, **wide) for slot in range(begin, begin + 50)))
            until(lambda last=begin + 49: quick.slots[-1:] == [last], says="the quick page")
        received = read_until(page, b"event: load-again")
        stillhouse.log(scan(START + COMMITTED + 1, pot=20))
        read_until(page, f'"slot":{START + COMMITTED + 1}'.encode())
    assert quick.slots[:COMMITTED] == list(range(START + 1, START + COMMITTED + 1))
    assert received.count(b"event: scan") < COMMITTED


def read_until(page, text):
    received = b""
    while text not in received[-10_000:]:
        part = page.recv(1000)
        assert part, "the stream ended"
        received += part
    return received


@contextmanager
def stuck_page(address):
    """Connect a page that takes as little as it can, and does not read unless told."""
    host, _, port = address.removeprefix("http://").partition(":")
    with socket.socket() as page:
        page.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        page.settimeout(20)
        page.connect((host, int(port)))
        page.sendall(b"GET /api/live/events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        yield page


def test_it_stops_at_once_with_watchers_connected(running, stillhouse, scan, until):
    stillhouse.log(scan(START, pot=20))
    process, address = running()
    streams = [Stream(address) for _ in range(5)]
    until(lambda: all(stream.connected.is_set() for stream in streams), says="the streams")
    assert process.stop(signal.SIGTERM, within_s=4) == 0  # sooner than the grace for answers
    until(lambda: all(stream.ended.is_set() for stream in streams), says="the streams' end")
    assert "Traceback" not in process.text


def test_it_stops_on_ctrl_c_too(running):
    process, _ = running()
    assert process.stop(signal.SIGINT) == 0
    assert "Traceback" not in process.text


def refused(*words):
    """Run a word that is refused, in this process: what it says, which is one sentence."""
    ended = CliRunner().invoke(app, list(map(str, words)))
    assert ended.exit_code == 2
    assert ended.output.count("\n") == 1
    return ended.output


def test_a_second_service_on_the_folder_is_refused_in_one_sentence(client, stillhouse):
    assert client.get("/api/alive").status_code == 200  # the first
    said = refused("serve", "--data", stillhouse.data, "--port", "1")
    assert "Another service" in said


def test_a_port_in_use_is_refused_in_one_sentence(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        said = refused("serve", "--data", tmp_path / "other", "--port", port)
    assert f"http://127.0.0.1:{port} cannot be listened on" in said


def test_a_data_folder_that_is_a_file_is_refused_in_one_sentence(tmp_path):
    file = tmp_path / "file"
    file.write_text("no folder")
    assert str(file) in refused("serve", "--data", file)


def test_a_read_only_data_folder_is_refused_in_one_sentence(start, stillhouse, scan):
    stillhouse.log(scan(START, pot=20))
    stillhouse.data.chmod(0o555)
    for file in stillhouse.data.iterdir():
        file.chmod(0o444)
    process = start("serve", "--data", stillhouse.data, under=WITHOUT_PRIVILEGE)
    assert process.ends() == 2
    stillhouse.data.chmod(0o755)
    for file in stillhouse.data.iterdir():
        file.chmod(0o644)
    assert process.text.count("\n") == 1
    assert "cannot be written" in process.text


def test_a_newer_schema_is_refused_and_left_as_it_is(stillhouse, scan):
    stillhouse.log(scan(START, pot=20))
    stillhouse.close()
    with closing(sqlite3.connect(stillhouse.data / "wormtub.db")) as store:
        store.execute("UPDATE alembic_version SET version_num = '9999'")
        store.commit()
    for words in (("serve",), ("export",)):
        said = refused(*words, "--data", stillhouse.data)
        assert "newer than this program's" in said


def test_told_to_listen_elsewhere_it_says_what_that_means(start, stillhouse, free_port):
    words = ("serve", "--data", stillhouse.data, "--host", "0.0.0.0", "--port", free_port)
    process = start(*words)
    process.says("Keep it inside your own network")
    address = f"http://127.0.0.1:{free_port}"
    as_named = httpx.get(f"{address}/api/alive", headers={"host": "stillhouse.local"}, verify=PLAIN)
    assert as_named.status_code == 200
    assert (
        httpx.get(f"{address}/api/live", headers={"host": "evil.example"}, verify=PLAIN).status_code
        == 403
    )
    body = {"name": "Still", "kind": "still", "volume_l": 60}
    told = httpx.post(
        f"{address}/api/vessels", json=body, headers={"host": "stillhouse.local"}, verify=PLAIN
    )
    assert told.status_code == 401
    assert httpx.post(f"{address}/api/vessels", json=body, verify=PLAIN).status_code == 201


def test_it_says_that_it_is_ready_to_whoever_started_it(start, stillhouse, free_port, listener):
    with listener() as (path, received):
        words = ("serve", "--data", stillhouse.data, "--port", free_port)
        process = start(*words, env={"NOTIFY_SOCKET": str(path)})
        process.until(lambda: "READY=1" in received(), says="READY=1")
        assert process.stop() == 0
        assert "STOPPING=1" in received()


@pytest.fixture
def listener(tmp_path):
    @contextmanager
    def listening():
        path = tmp_path / "notify"
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
            heard.bind(str(path))
            heard.settimeout(0)
            messages = []

            def received():
                while True:
                    try:
                        messages.append(heard.recv(1000).decode())
                    except BlockingIOError:
                        return messages

            yield path, received

    return listening


def test_it_loads_no_library_that_is_for_reports_or_research():
    code = (
        "import sys, api.server\n"
        "heavy = {'scipy', 'pandas', 'plotly', 'thermo', 'alembic'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60, cwd=ROOT)
