"""60,000 reads while another process rewrites every probe's file 200 times a second."""

import subprocess
import sys

from logger.reading import Grade

READS = 60_000
PROBES = 8
DEADLINE_S = 2.0

# Each probe's counts leave their own remainder, so that no probe's reading can pass for another's.
REWRITER = """
import sys
from pathlib import Path
from time import monotonic, sleep
from logger.bus.simulated import SimulatedBus, SimulatedProbe

def feels(number):
    return lambda t_s: ((round(t_s * 200) * 8 + number) % 1600) / 16

probes = [SimulatedProbe(f"28-0000{n:08x}", feels(n), noise_c=0.0) for n in range(int(sys.argv[2]))]
bus = SimulatedBus(Path(sys.argv[1]), probes)
print("ready", flush=True)
began_s, step = monotonic(), 0
while True:
    step += 1
    bus.step(step / 200)
    sleep(max(0.0, began_s + step / 200 - monotonic()))
"""


def test_no_read_is_bad(lab):
    rewriter = subprocess.Popen(
        [sys.executable, "-c", REWRITER, str(lab.folder), str(PROBES)],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert rewriter.stdout.readline() == "ready\n"
        reads, bad, seen = read_all(lab.read())
        assert rewriter.poll() is None
    finally:
        rewriter.kill()
        rewriter.wait()
        rewriter.stdout.close()
    assert (reads, bad) == (READS, [])
    assert all(len(counts) > 50 for counts in seen)  # it was being rewritten all the while


def read_all(bus):
    reads, bad, seen = 0, [], [set() for _ in range(PROBES)]
    while reads < READS:
        for number, reading in enumerate(bus.read_scan(deadline_s=DEADLINE_S)):
            reads += 1
            if reading.grade is not Grade.OK or reading.count % 8 != number:
                bad.append(reading)
            else:
                seen[number].add(reading.count)
    return reads, bad, seen
