"""How long a scan of eight probes takes on a bus that takes the kernel's own times.

Run by hand: python tests/bench/bus_sweep.py [--scans 20]
Bars, 8 probes on one bus: <= 0.60 s at 11 bit, <= 0.95 s at 12.
Peer: w1thermsensor's get_temperature, one probe after another, on the same bus in the same run.
"""

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from logger.bus.discovery import Tree
from logger.bus.onewire import OneWireBus
from logger.reading import Grade

KERNEL = Path(__file__).with_name("bus_kernel.py")
DEADLINE_S = 1.97
HOT_S = 0.97


@contextmanager
def bus(*options: str) -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "devices"
        kernel = subprocess.Popen(
            [sys.executable, str(KERNEL), str(folder), *options], stdout=subprocess.PIPE, text=True
        )
        try:
            kernel.stdout.readline()
            yield folder
        finally:
            kernel.kill()
            kernel.wait()


def timed(work: Callable[[], object], times: int) -> list[float]:
    took = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        took.append(time.perf_counter() - began)
    return took


def scans(name: str, folder: Path, bits: int | None, times: int, bar_s: float | None) -> None:
    """Measure whole scans once the resolution is set; every one must have every number."""
    reader, bad = OneWireBus(folder, bits=bits), []

    def scan() -> None:
        readings = reader.read_scan(deadline_s=DEADLINE_S)
        bad.extend(r for r in readings if r.grade is not Grade.OK)

    timed(scan, 2)  # learns the supply, sets the resolution
    bad.clear()
    cpu = time.process_time()
    took = timed(scan, times)
    cpu = (time.process_time() - cpu) / times
    reader.close()
    within = "" if bar_s is None else f", {sum(t <= bar_s for t in took)}/{times} <= {bar_s:.2f} s"
    report(name, took, f"{len(bad)} without a number, {cpu * 1e3:.1f} ms CPU{within}")


def report(name: str, took: list[float], rest: str = "") -> None:
    print(
        f"{name:50} median {statistics.median(took):6.3f} s, longest {max(took):6.3f} s  {rest}",
        flush=True,
    )


def peer(name: str, folder: Path, times: int) -> None:
    """w1thermsensor, as its users call it."""
    sensors = Tree(folder)._sensors.get_available_sensors()
    report(name, timed(lambda: [s.get_temperature() for s in sensors], times))


def hot_second(folder: Path, times: int) -> None:
    """Let the policy choose at one scan a second."""
    reader, began_s, missing = OneWireBus(folder), time.monotonic(), []
    for second in range(times):
        time.sleep(max(0.0, began_s + second - time.monotonic()))
        readings = reader.read_scan(deadline_s=HOT_S)
        missing.append(sum(reading.grade is not Grade.OK for reading in readings))
    bits = {facts.resolution_bits for facts in reader.facts()}
    print(f"  settled at {bits} bit; without a number, second by second: {missing}", flush=True)
    reader.close()


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--scans", type=int, default=20)
    times = parser.parse_args().scans
    busy = ", ".join(f"{load:.1f}" for load in os.getloadavg())
    print(f"Load {busy} on {os.cpu_count()} cores: a busy machine adds to every time below.")
    for bits, bar_s in ((12, 0.95), (11, 0.60)):
        with bus("--bits", str(bits)) as folder:
            scans(f"8 probes, {bits} bit, bulk", folder, bits, times, bar_s)
            peer(f"  w1thermsensor one after another, {bits} bit", folder, 2)
        with bus("--bits", str(bits), "--no-bulk") as folder:
            scans(f"8 probes, {bits} bit, no bulk: side by side", folder, bits, times, None)
    with bus("--masters", "2", "--probes", "4") as folder:
        scans("2 masters with 4 probes each, 12 bit, bulk", folder, 12, times, None)
    with bus("--probes", "2", "--no-bulk", "--parasite") as folder:
        scans("2 probes without a supply, 12 bit, no bulk", folder, 12, times // 4, None)
    print("The policy's choice where a scan may take 0.97 s:")
    for probes in (8, 20):
        with bus("--probes", str(probes)) as folder:
            print(f"{probes} probes, bulk:")
            hot_second(folder, times)
    print(f"Resident {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")


if __name__ == "__main__":
    main()
