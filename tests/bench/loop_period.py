"""How exactly the logger keeps its second, idle and with every core loaded.

    python tests/bench/loop_period.py [SECONDS]

The real logger reads a simulated bus at 1 Hz; each sweep is held up to 0.48 s, the time eight
probes take in bulk at 11 bit. The peer, in the same run and under the same load, is an APScheduler
interval job of one second in a process of its own. The period error is the distance of a scan's
beginning from its whole second. Bars: p95 <= 5 ms idle, <= 250 ms loaded, no slot skipped.
"""

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from threading import Event

sys.path.insert(0, str(ROOT := Path(__file__).parents[2]))

SWEEP_S = 0.48
START_S = 6  # left out: the processes start, and the load with them
BUSY = "while True: sum(range(10_000))"


def main():
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.2f} before; {seconds} s each")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bus = folder / "bus" / "w1"
        simulator = start("-m", "api.cli", "simulate", "--bus", bus, stdout=subprocess.DEVNULL)
        try:
            while not any(bus.glob("28-*/w1_slave")):
                time.sleep(0.1)
            measure("idle", folder / "idle", bus, seconds, busy=0)
            measure("every core loaded", folder / "loaded", bus, seconds, busy=os.cpu_count())
        finally:
            end([simulator])


def measure(title, data, bus, seconds, busy):
    data.mkdir()
    load = [start("-c", BUSY) for _ in range(busy)]
    measured = [start(__file__, "logger", data, bus), start(__file__, "peer", data)]
    try:
        time.sleep(seconds + START_S)
    finally:
        end(measured)
        end(load, signal.SIGKILL)
    print(f"\n{title}")
    for name, shown in (("logger", "logger"), ("peer", "APScheduler job")):
        report(shown, json.loads((data / f"{name}.json").read_text())[START_S - 1 :])


def report(name, began_s):
    errors_ms = sorted(1000 * min(at % 1, 1 - at % 1) for at in began_s)
    slots = [int(at + 0.005) for at in began_s]  # a wait may end some microseconds early
    skipped = slots[-1] - slots[0] + 1 - len(set(slots))
    p50, p95 = (errors_ms[int(len(errors_ms) * part)] for part in (0.5, 0.95))
    print(
        f"  {name:16s} {len(slots):4d} scans  p50 {p50:8.3f} ms  p95 {p95:8.3f} ms"
        f"  worst {errors_ms[-1]:8.3f} ms  skipped {skipped}"
    )


def start(*words, **more):
    return subprocess.Popen([sys.executable, *map(str, words)], cwd=ROOT, **more)


def end(processes, number=signal.SIGTERM):
    for process in processes:
        process.send_signal(number)
    for process in processes:
        process.wait()


def run_logger(data, bus):
    """Run the real logger on a bus whose sweeps are timed and held up."""
    from logger import service  # noqa: PLC0415 - the child's own
    from logger.settings import Settings  # noqa: PLC0415

    began_s, opened = [], service.open_bus

    class Timed:
        """The real bus, seen from outside."""

        def __init__(self, settings) -> None:
            self.real = opened(settings)

        def __getattr__(self, name) -> object:
            return getattr(self.real, name)

        def read_scan(self, *, deadline_s):
            began_s.append(time.time())
            ends_at = time.monotonic() + SWEEP_S
            readings = self.real.read_scan(deadline_s=deadline_s)
            time.sleep(max(0.0, ends_at - time.monotonic()))
            return readings

    service.open_bus = Timed
    service.run(Settings(data=data / "data", bus=bus))
    (data / "logger.json").write_text(json.dumps(began_s))


def run_peer(data):
    """Run an interval job that takes as long as a sweep."""
    from apscheduler.schedulers.background import BackgroundScheduler  # noqa: PLC0415

    began_s, stop = [], Event()

    def job():
        began_s.append(time.time())
        time.sleep(SWEEP_S)

    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    scheduler = BackgroundScheduler(timezone="UTC")
    whole = datetime.fromtimestamp(int(time.time()) + 1, UTC)
    scheduler.add_job(job, "interval", seconds=1, start_date=whole)
    scheduler.start()
    stop.wait()
    scheduler.shutdown()
    (data / "peer.json").write_text(json.dumps(began_s))


if __name__ == "__main__":
    if len(sys.argv) > 2:
        {"logger": run_logger, "peer": run_peer}[sys.argv[1]](*map(Path, sys.argv[2:]))
    else:
        main()
