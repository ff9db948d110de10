"""What the two processes take: resident memory, and CPU until they are ready.

    python tests/bench/loop_footprint.py [SECONDS]

The real `wormtub log` on a simulated bus, with two hours of scans to seal at its start, and the
real `wormtub serve` beside it, asked for live state and history. The peers, in the same run: bare
processes that only import the libraries each of the two stands on. Bars: logger <= 80 MB, service
<= 130 MB, each <= 2 s of CPU to start. Memory is shown as systemctl and top show it, in units of
1024 x 1024 bytes.
"""

import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

sys.path.insert(0, str(ROOT := Path(__file__).parents[2]))

from logger.plant.distillery import DEMO_PROBES
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.scans import ScanWriter

TICKS_PER_S = os.sysconf("SC_CLK_TCK")
PAST_S = 7200
LOGGERS = "numpy, sqlmodel, pydantic_settings, apscheduler.schedulers.background, typer"
SERVICES = f"{LOGGERS}, fastapi, uvicorn, uvloop, httptools, orjson"


class Measured:
    """A process, and what the kernel says it has used."""

    def __init__(self, name, *words, ready) -> None:
        self.name = name
        self.began = time.monotonic()
        self.process = subprocess.Popen(
            [sys.executable, *map(str, words)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        for line in self.process.stdout:
            if ready in line:
                break
        self.ready_s, self.ready_cpu_s = time.monotonic() - self.began, self.cpu_s()

    def cpu_s(self):
        stat = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(stat[11]) + int(stat[12])) / TICKS_PER_S

    def memory_mib(self, key):
        lines = Path(f"/proc/{self.process.pid}/status").read_text().splitlines()
        [line] = [line for line in lines if line.startswith(f"{key}:")]
        return int(line.split()[1]) / 1024

    def report(self):
        print(
            f"  {self.name:22s} ready after {self.ready_s:5.2f} s, {self.ready_cpu_s:5.2f} s CPU;"
            f"  resident {self.memory_mib('VmRSS'):6.1f} MiB, peak {self.memory_mib('VmHWM'):6.1f}"
        )

    def end(self):
        self.process.send_signal(signal.SIGTERM)
        self.process.communicate()


def main():
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        running = []
        try:
            measure(folder, folder / "bus" / "w1", seconds, running)
        finally:
            for process in reversed(running):
                process.end()


def measure(folder, bus, seconds, running):
    store_past(folder)
    words = ("-m", "api.cli")
    running.append(Measured("simulate", *words, "simulate", "--bus", bus, ready="is at"))
    log = (*words, "log", "--data", folder, "--bus", bus)
    logger = Measured("wormtub log", *log, ready="Logging to")
    running.append(logger)
    port = free_port()
    serve = (*words, "serve", "--data", folder, "--port", port)
    service = Measured("wormtub serve", *serve, ready="is at")
    running.append(service)
    for loaded, libraries in (("log's libraries", LOGGERS), ("serve's libraries", SERVICES)):
        code = f"import {libraries}; print('up', flush=True); import time; time.sleep(3600)"
        running.append(Measured(loaded, "-c", code, ready="up"))
    ask(port, seconds)
    print(f"after {seconds} s at 1 Hz, {PAST_S // 3600} hours sealed:")
    for process in running[1:]:
        process.report()


def store_past(data):
    """Leave two hours to seal."""
    database.prepare(data)
    writer = ScanWriter(database.engine(data))
    now = int(time.time())
    series = [SeriesKey(probe.probe_id, "temperature_c", 16) for probe in DEMO_PROBES]
    writer.append_many(
        Scan(slot, 1, tuple(Reading(one, Grade.OK, 1200 + slot % 17) for one in series))
        for slot in range(now - PAST_S, now)
    )
    writer.close()


def ask(port, seconds):
    """Ask the service for what a page asks, once a second."""
    for _ in range(seconds):
        now_ms = time.time_ns() // 1_000_000
        history = f"api/history?from_ms={now_ms - PAST_S * 1000}&to_ms={now_ms}&buckets=1000"
        for path in ("api/live", history):
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/{path}") as answer:
                answer.read()
        time.sleep(1)


def free_port():
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


if __name__ == "__main__":
    main()
