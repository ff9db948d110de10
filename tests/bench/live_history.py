"""History through HTTP: the time from asking to the last byte, and the bytes it takes.

    python tests/bench/live_history.py [DAYS]

Thirty days of eight series at 1 Hz (see history_data.py), random unaligned windows, 1,000 buckets,
over a real `wormtub serve` on loopback, warm. The peer, in the same run: the same envelope as JSON
objects with ISO times, encoded and packed as a framework does it unasked.
"""

import gzip
import json
import random
import statistics
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

import httpx

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[2]))

from history_data import DAY_S, START
from history_envelope import build
from live_watchers import Service, free_port

BUCKETS = 1000
WINDOWS = (("10 min", 600, 100), ("12 h", 43_200, 50), ("all", None, 30))


def begins(rng, length_s, days, number):
    room_s = days * DAY_S - length_s
    return [START + (rng.randrange(room_s) if room_s > 0 else 0) for _ in range(number)]


def asked(client, begin, length_s):
    params = {"from_ms": begin * 1000, "to_ms": (begin + length_s) * 1000, "buckets": BUCKETS}
    began = time.perf_counter()
    with client.stream("GET", "/api/history", params=params) as answer:
        body = b"".join(answer.iter_raw())
    return (time.perf_counter() - began) * 1000, body


def as_objects(body):
    """Write the same envelope as objects with ISO times, level 9 as the framework's middleware."""
    began = time.perf_counter()
    found = [
        {
            "place": trace["place"],
            "time": datetime.fromtimestamp(
                (one["t0_ms"] + n * one["dt_ms"]) / 1000, UTC
            ).isoformat(),
            "low": None if low is None else low / one["counts_per_unit"],
            "high": None if low is None else high / one["counts_per_unit"],
        }
        for trace in body["traces"]
        for one in trace["segments"]
        for n, (low, high) in enumerate(zip(one["lo"], one["hi"], strict=True))
    ]
    packed = gzip.compress(json.dumps(found).encode(), 9)
    return (time.perf_counter() - began) * 1000, len(packed)


def measure(client, name, length_s, days, number):
    rng = random.Random(name)
    asked(client, START, length_s)
    took = [asked(client, begin, length_s) for begin in begins(rng, length_s, days, number)]
    times = sorted(ms for ms, _ in took)
    sizes = [len(body) for _, body in took]
    peer_ms, peer_bytes = as_objects(json.loads(gzip.decompress(took[-1][1])))
    print(
        f"{name:>6}: median {statistics.median(times):.1f} ms, "
        f"p95 {times[int(0.95 * len(times))]:.1f} ms, {statistics.mean(sizes) / 1000:.1f} kB; "
        f"peer: {peer_ms:.0f} ms to encode alone, {peer_bytes / 1000:.0f} kB"
    )


def main():
    days = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    with tempfile.TemporaryDirectory() as folder:
        build(Path(folder), days)
        service = Service(Path(folder), port := free_port())
        try:
            with httpx.Client(base_url=f"http://127.0.0.1:{port}") as client:
                for name, length_s, number in WINDOWS:
                    measure(client, name, length_s or days * DAY_S, days, number)
            print(f"resident {service.resident_mb():.0f} MB")
        finally:
            service.stop()


if __name__ == "__main__":
    main()
