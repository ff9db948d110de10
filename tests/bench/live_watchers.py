"""Scans to watchers: the time from a commit to its event, and what watching costs the service.

    python tests/bench/live_watchers.py [SECONDS]

A real `wormtub serve`, scans committed at 1 Hz by this process, and watchers that listen to the
events. The peer, in the same run: as many pages that ask for the live state once a second instead.
Bars: 100 watchers at most 1 % of a core, p99 at most 20 ms.
"""

import asyncio
import os
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import uvloop

sys.path.insert(0, str(ROOT := Path(__file__).parents[2]))

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.scans import ScanWriter

SERIES = [SeriesKey(f"28-0000000000{n:02x}", "temperature_c", 16) for n in range(8)]
HOST = "127.0.0.1"


def free_port():
    with socket.socket() as free:
        free.bind((HOST, 0))
        return free.getsockname()[1]


def scan(slot):
    return Scan(slot, 1, tuple(Reading(s, Grade.OK, 16 * 60 + slot % 7) for s in SERIES))


class Service:
    """The service as a process of its own, and what the kernel says it has used."""

    def __init__(self, data, port) -> None:
        self.port = port
        words = [sys.executable, "-m", "api.cli", "serve", "--data", str(data), "--port", str(port)]
        began = time.monotonic()
        self.process = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True)
        self.process.stdout.readline()
        print(f"ready after {time.monotonic() - began:.2f} s, {self.cpu_s():.2f} s of CPU")

    def cpu_s(self):
        return self._scheduled(0)

    def waited_s(self):
        """Return how long it was ready to run but had no core: other programs' doing."""
        return self._scheduled(1)

    def _scheduled(self, column):
        tasks = Path(f"/proc/{self.process.pid}/task").iterdir()
        return sum(int((task / "schedstat").read_text().split()[column]) for task in tasks) / 1e9

    def resident_mb(self):
        for line in Path(f"/proc/{self.process.pid}/status").read_text().splitlines():
            if line.startswith("VmRSS"):
                return int(line.split()[1]) / 1024
        raise LookupError("VmRSS")

    def stop(self):
        began = time.monotonic()
        self.process.terminate()
        code = self.process.wait()
        return code, time.monotonic() - began


class Watcher:
    """One page that listens, reduced to what costs this process least."""

    def __init__(self, port, seen) -> None:
        self.port, self.seen = port, seen

    async def listen(self):
        reader, writer = await asyncio.open_connection(HOST, self.port)
        writer.write(b"GET /api/live/events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        try:
            while data := await reader.read(65536):
                now = time.monotonic_ns()
                for part in data.split(b'"slot":')[1:]:
                    self.seen.append((int(part.partition(b",")[0]), now))
        finally:
            writer.close()


class Poller(Watcher):
    """One page that asks once a second instead, over a connection it keeps."""

    async def listen(self):
        reader, writer = await asyncio.open_connection(HOST, self.port)
        try:
            while True:
                writer.write(b"GET /api/live HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
                head = await reader.readuntil(b"\r\n\r\n")
                length = int(head.lower().partition(b"content-length: ")[2].partition(b"\r")[0])
                await reader.readexactly(length)
                self.seen.append((0, 0))
                await asyncio.sleep(1)
        finally:
            writer.close()


async def commit_at_1_hz(writer, seconds, committed):
    for _ in range(seconds):
        await asyncio.sleep(1 - time.time() % 1)
        slot = int(time.time())
        writer.append(scan(slot))
        committed[slot] = time.monotonic_ns()


async def measured(kind, number, service, writer, seconds):
    """Run so many pages for a while; return what was seen, and the CPU used beside idling."""
    seen, committed = [], {}
    pages = [asyncio.create_task(kind(service.port, seen).listen()) for _ in range(number)]
    await asyncio.sleep(1)  # all connected
    before_s, waited_s, began = service.cpu_s(), service.waited_s(), time.monotonic()
    await commit_at_1_hz(writer, seconds, committed)
    await asyncio.sleep(0.5)
    share = (service.cpu_s() - before_s) / (time.monotonic() - began)
    for page in pages:
        page.cancel()
    await asyncio.gather(*pages, return_exceptions=True)
    print(
        f"(for a core it waited {1000 * (service.waited_s() - waited_s) / seconds:.1f} ms a scan)"
    )
    late_ms = sorted((at - committed[slot]) / 1e6 for slot, at in seen if slot in committed)
    return late_ms, share, len(committed)


def at(sorted_values, share):
    return sorted_values[min(len(sorted_values) - 1, int(share * len(sorted_values)))]


async def run(service, writer, seconds):
    _, idle, _ = await measured(Watcher, 0, service, writer, seconds)
    print(f"nobody watching, a scan a second: {idle:.2%} of a core")
    shares = {}
    for number in (1, 20, 100):
        late_ms, share, scans = await measured(Watcher, number, service, writer, seconds)
        assert len(late_ms) == number * scans, "an event was lost or doubled"
        shares[number] = share - idle
        print(
            f"{number:3} watchers: p50 {at(late_ms, 0.5):.1f} ms, p95 {at(late_ms, 0.95):.1f} ms, "
            f"p99 {at(late_ms, 0.99):.1f} ms, worst {late_ms[-1]:.1f} ms; "
            f"{share:.2%} of a core in all, {share - idle:.2%} for watching"
        )
    _, share, _ = await measured(Poller, 100, service, writer, seconds)
    print(
        f"peer, 100 pages polling: {share - idle:.2%} of a core for it, "
        f"{(share - idle) / shares[100]:.1f} times as much"
    )


def main():
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder)
        database.prepare(data)
        engine = database.engine(data)
        writer = ScanWriter(engine)
        now = int(time.time())
        writer.append_many(scan(slot) for slot in range(now - 4000, now - 1))
        service = Service(data, free_port())
        print(f"load of the machine before: {os.getloadavg()[0]:.2f}")
        try:
            uvloop.run(run(service, writer, seconds))
            print(f"resident {service.resident_mb():.0f} MB")
        finally:
            code, took_s = service.stop()
        print(f"stopped with {code} within {took_s:.2f} s")


if __name__ == "__main__":
    main()
