"""What a hostile client of the network does to the scans, to the feed and to the alarms.

    python tests/bench/hostile_client.py [SECONDS] [REQUESTS_A_SECOND]

A real simulated bus, logger and service; a page at the machine follows the events. Then, for 30 s,
a client by another name asks 500 times a second: pages, the live state, forged cookies and tokens,
sign-ins with guessed passphrases, and bytes that are no HTTP. Each scan is timed from its whole
second to its event. Meanwhile a ferment is called too hot and well again, time after time, by its
limit; each alarm is timed from the limit's being sent until the page at the machine is told. The
peer, in the same run: the same time without the client. Bars: no scan more than 250 ms later than
without it, no scan missing from the feed, every alarm raised and ended.
"""

import asyncio
import itertools
import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import httpx

sys.path.insert(0, str(ROOT := Path(__file__).parents[2]))

from logger.store import database, facts
from logger.store.tables import Occupancy, Place, Placement, Vessel

HOST = "127.0.0.1"
LINES = 20  # connections of the client, kept open
STRANGER = "stillhouse.local"
GUESS = b'{"name": "Ann", "passphrase": "a guess of many"}'
RULE = "ferment_too_hot"
EVERY_S = 2.7  # between one change of its limit and the next; out of step with the scans
RAISED_C, ENDED_C = -55.0, 125.0  # below and above whatever a ferment is
GIVEN_UP_S = 10.0


def main():
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    rate = int(sys.argv[2]) if len(sys.argv) > 2 else 500
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.2f} before; {seconds} s each")
    with tempfile.TemporaryDirectory() as name:
        bus, data = Path(name) / "bus" / "w1", Path(name) / "data"
        started = [start("simulate", "--bus", bus)]
        try:
            while not any(bus.glob("28-*/w1_slave")):
                time.sleep(0.1)
            port = free_port()
            furnish(data, next(bus.glob("28-*")).name)
            started.append(start("log", "--data", data, "--bus", bus, "--period-idle-s", "1"))
            words = ("serve", "--data", data, "--port", port, "--host", "0.0.0.0")
            started.append(start(*words))
            add = start("people", "add", "Ann", "--role", "own", "--data", data)
            add.wait()
            service, logger = started[2].pid, started[1].pid
            asyncio.run(measure(port, seconds, rate, {"service": service, "logger": logger}))
        finally:
            for process in reversed(started):
                process.terminate()
                process.wait()


def furnish(data, probe_id):
    """Put a probe into a ferment that nobody looks after but the alarms."""
    data.mkdir()
    database.prepare(data)
    engine = database.engine(data)
    said = {"site": uuid4(), "who": "bench", "effective_at": datetime(2026, 1, 1, tzinfo=UTC)}
    tank = Vessel.first(name="Tank", kind="fermenter", volume_l=100.0, **said)
    spot = Place.first(name="ferment", vessel=tank.about, **said)
    put = Placement.first(place=spot.about, probe_id=probe_id, **said)
    held = Occupancy.first(vessel=tank.about, batch="one", stage="ferment", **said)
    facts.record(engine, tank, spot, put, held)
    engine.dispose()


def start(*words):
    command = [sys.executable, "-m", "api.cli", *map(str, words)]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def free_port():
    with socket.socket() as free:
        free.bind((HOST, 0))
        return free.getsockname()[1]


def scheduled(pid):
    """Return the seconds a process ran, and those it was ready but had no core."""
    tasks = Path(f"/proc/{pid}/task").iterdir()
    columns = [(task / "schedstat").read_text().split() for task in tasks]
    return tuple(sum(int(one[n]) for one in columns) / 1e9 for n in (0, 1))


async def measure(port, seconds, rate, pids):
    seen, standing, calls = [], asyncio.Queue(), {}
    following = asyncio.create_task(follow(port, seen, standing))
    while len(seen) < 5:  # noqa: ASYNC110 - the processes are starting
        await asyncio.sleep(0.2)
    calls["without"] = []
    quiet = await watched(seen, call(port, seconds, standing, calls["without"]))
    answers, late = Counter(), []
    before = {name: scheduled(pid) for name, pid in pids.items()}
    calls["with"] = []
    calling = asyncio.create_task(call(port, seconds, standing, calls["with"]))
    hostile = await watched(seen, attack(port, seconds, rate, answers, late))
    await calling
    used = {name: (scheduled(pid), before[name]) for name, pid in pids.items()}
    following.cancel()
    report("without", quiet)
    report(f"with {sum(answers.values()) / seconds:.0f} requests a second", hostile)
    print("  answered " + ", ".join(f"{n} x {status}" for status, n in answers.most_common()))
    for name, ((ran, waited), (ran_0, waited_0)) in used.items():
        share, stood = (ran - ran_0) / seconds, waited - waited_0
        print(f"  the {name} took {share:.1%} of a core, and stood {stood:.2f} s without one")
    later = max(delays_ms(hostile)) - max(delays_ms(quiet))
    print(f"the latest scan came {later:+.0f} ms against the latest without (bar: 250 ms)")
    for when, told in calls.items():
        missed = sum(one is None for one in told)
        slowest_s = max((one for one in told if one is not None), default=0)
        print(
            f"alarms {when}: {len(told)} raised or ended by a limit, {missed} of them not told; "
            f"the slowest after {slowest_s:.2f} s, of which a scan takes up to 1 s"
        )
    print(f"the client's own requests were sent up to {max(late, default=0) * 1000:.0f} ms late")


async def watched(seen, doing):
    begin = len(seen)
    await doing
    return seen[begin:]


def delays_ms(seen):
    return [at_ms - slot * 1000 for slot, at_ms in seen]


def report(title, seen):
    delays = sorted(delays_ms(seen))
    slots = [slot for slot, _ in seen]
    missing = slots[-1] - slots[0] + 1 - len(slots)
    p50, p95 = delays[len(delays) // 2], delays[int(len(delays) * 0.95)]
    print(
        f"{title}: {len(seen)} scans, {missing} missing; from the whole second to the page "
        f"p50 {p50:.0f} ms, p95 {p95:.0f} ms, latest {delays[-1]:.0f} ms"
    )


async def call(port, seconds, standing, told):
    """Raise and end an alarm by its limit, and time until the page is told; None is never."""
    until = time.monotonic() + seconds
    async with httpx.AsyncClient(
        base_url=f"http://{HOST}:{port}/api/alarms", trust_env=False
    ) as owner:
        rules = (await owner.get("/rules")).json()
        version = next(one["version"] for one in rules if one["rule"] == RULE)
        for limit in itertools.cycle((RAISED_C, ENDED_C)):
            began = time.monotonic()
            if began > until:
                break
            body = {"limit": limit, "on_delay_s": 0, "off_delay_s": 0, "reason": "a trial"}
            answer = await owner.put(f"/rules/{RULE}", json=body | {"version": version})
            version = answer.raise_for_status().json()["version"]
            told.append(await told_after(standing, began, stands=limit == RAISED_C))
            await asyncio.sleep(max(0.0, began + EVERY_S - time.monotonic()))


async def told_after(standing, began, *, stands):
    """Wait until the page is told that the alarm stands, or holds no more."""
    try:
        async with asyncio.timeout(GIVEN_UP_S):
            while True:
                at, states = await standing.get()
                if at >= began and bool(states & {"unacknowledged", "acknowledged"}) == stands:
                    return at - began
    except TimeoutError:
        return None


async def follow(port, seen, standing):
    """Listen as a page at the machine does."""
    while True:
        try:
            reader, writer = await asyncio.open_connection(HOST, port)
            break
        except ConnectionRefusedError:
            await asyncio.sleep(0.2)
    writer.write(f"GET /api/live/events HTTP/1.1\r\nHost: {HOST}:{port}\r\n\r\n".encode())
    name = b""
    while line := await reader.readline():
        if line.startswith(b"event: "):
            name = line[7:].strip()
        elif line.startswith(b"data: ") and name == b"scan":
            seen.append((json.loads(line[6:])["slot"], time.time() * 1000))
        elif line.startswith(b"data: ") and name == b"alarms":
            now = json.loads(line[6:])["now"]
            states = {one["state"] for one in now if one["rule"] == RULE}
            standing.put_nowait((time.monotonic(), states))
    raise ConnectionError("the feed ended")


def requests(port):
    """Go round what a hostile client might send."""
    head = f"Host: {STRANGER}:{port}\r\n"
    guess = (
        f"Content-Type: application/json\r\nContent-Length: {len(GUESS)}\r\n\r\n".encode() + GUESS
    )
    forged = "Cookie: wormtub=00000000000040008000000000000000.forged\r\n"
    token = "Authorization: Bearer wormtub_forged\r\n"  # noqa: S105 - forged
    kinds = [
        f"GET / HTTP/1.1\r\n{head}\r\n".encode(),
        f"GET /api/live HTTP/1.1\r\n{head}\r\n".encode(),
        f"GET /api/live/events HTTP/1.1\r\n{head}{forged}\r\n".encode(),
        f"GET /api/history?from_ms=0&to_ms=9 HTTP/1.1\r\n{head}{token}\r\n".encode(),
        f"POST /api/doors/sign-in HTTP/1.1\r\n{head}".encode() + guess,
        f"GET /doors.html HTTP/1.1\r\n{head}\r\n".encode(),
        b"\x16\x03\x01 nonsense\r\n\r\n",
    ]
    while True:
        yield from kinds


async def attack(port, seconds, rate, answers, late):
    asked = requests(port)
    began = time.monotonic()
    number = 0

    async def line():
        nonlocal number
        reader = writer = None
        while (now := time.monotonic()) < began + seconds:
            due = began + number / rate
            number += 1
            body = next(asked)
            if due > now:
                await asyncio.sleep(due - now)
            else:
                late.append(now - due)
            try:
                if writer is None or writer.is_closing():
                    reader, writer = await asyncio.open_connection(HOST, port)
                writer.write(body)
                answers[await answer(reader, writer)] += 1
            except (ConnectionError, asyncio.IncompleteReadError):
                answers["closed"] += 1
                writer = None

    await asyncio.gather(*(line() for _ in range(LINES)))


async def answer(reader, writer):
    head = (await reader.readuntil(b"\r\n\r\n")).lower()
    length = [part for part in head.split(b"\r\n") if part.startswith(b"content-length:")]
    await reader.readexactly(int(length[0].split(b":")[1]) if length else 0)
    if b"connection: close" in head:
        writer.close()
    return int(head.split()[1])


if __name__ == "__main__":
    main()
