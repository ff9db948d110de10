"""Have a running service make the report of a long run, and import a trace as long.

    python tests/bench/run_report.py

A run of 12 h read every second at eight places, with 40 marks, 60 jars, 20 alarms and what was
estimated each minute. Printed: size and seconds of the report, of all data and of the readings'
table, and what the service itself had in memory meanwhile, at most; the process that makes a report
is another one. The peer is the run's review, which the same numbers come from.
"""

import sys
import tempfile
from datetime import timedelta
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from time import perf_counter
from uuid import UUID

import httpx

sys.path.insert(0, str(Path(__file__).parents[2]))

from loop_footprint import Measured, free_port
from record_run import HOURS, build
from review_run import ALARMS, JARS, MARKS, alarmed, furnish, read

from api.reports.office import Office
from api.reports.order import Order
from logger.store import database
from logger.store.types import now

WAIT_S = 180.0


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        data, port = Path(folder), free_port()
        run_id = build(data, (now() - timedelta(hours=2)).replace(microsecond=0))
        engine = database.engine(data)
        run = furnish(engine, run_id)
        read(engine, run)
        alarmed(engine, run)
        engine.dispose()
        words = ("-m", "api.cli", "serve", "--data", data, "--port", port)
        service = Measured("service", *words, ready="http://")
        try:
            measure(service, f"http://127.0.0.1:{port}", run_id, str(run.vessel))
        finally:
            service.end()
        alone(data, run_id)


def measure(service: Measured, address: str, run_id: str, vessel_id: str) -> None:
    """Ask for each thing, and say what it took."""
    print(f"A run of {HOURS} h, {MARKS} marks, {JARS} jars, {ALARMS} alarms.")
    with httpx.Client(base_url=address, timeout=WAIT_S) as client:
        base = f"/api/reviews/runs/{run_id}"
        begun = perf_counter()
        say(service, "nothing yet", begun, client.get("/api/site"))
        for path in ("", "/report.html", "/data.json", "/readings.csv"):
            begun = perf_counter()
            answer = client.get(base + path)
            say(service, path or "the review (peer)", begun, answer)
            if path == "/readings.csv":
                took_back(client, service, answer.text, vessel_id)


def alone(data: Path, run_id: str) -> None:
    """Make the report by the process alone: the load of the machine does not hide its own work."""
    before = getrusage(RUSAGE_CHILDREN)
    parts = Office(WAIT_S).make(Order(data, "run", UUID(run_id), "html", now()))
    size = sum(map(len, parts))
    after = getrusage(RUSAGE_CHILDREN)
    used_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(f"  the report's process alone: {used_s:.1f} s of CPU, {size / 1e6:.3f} MB")


def took_back(client: httpx.Client, service: Measured, readings: str, vessel_id: str) -> None:
    """Import what was just written, two weeks earlier, as an owner's old trace would be."""
    header, *rows = readings.splitlines()
    names = [name.removesuffix("_c") for name in header.split(",")]
    earlier = "\n".join(moved(row) for row in rows if row)
    body = {
        "vessel_id": vessel_id, "purpose": "spirit", "batch": "an old one",
        "trace": f"{','.join(names)}\n{earlier}\n",
    }  # fmt: skip
    begun = perf_counter()
    answer = client.post("/api/reviews/imports", json=body)
    assert answer.status_code in {201, 422}, answer.text
    say(service, f"an import ({answer.status_code})", begun, answer)


def moved(row: str) -> str:
    """Write a line of some years before."""
    year, rest = row[:4], row[4:]
    return f"{int(year) - 4}{rest}"


def say(service: Measured, what: str, begun: float, answer: httpx.Response) -> None:
    """Print a line."""
    assert answer.status_code < 500, answer.text
    print(
        f"  {what:20} {perf_counter() - begun:6.1f} s  {len(answer.content) / 1e6:7.3f} MB  "
        f"service at most {service.memory_mib('VmHWM'):6.1f} MiB, now "
        f"{service.memory_mib('VmRSS'):6.1f}"
    )


if __name__ == "__main__":
    main()
