"""The time from opening the live page to its record, in headless Chromium: bar 1 s.

    python tests/bench/record_live_page.py [TIMES]

A store with twelve hours of eight series at 1 Hz, a run of twelve hours with 40 marks and 60 jars,
and 20 alarm events, served by the real service and opened as `opening` tells. The page's marks:
`first chart` when the lines are drawn, `record` when the run stands on the sheet with the presses
under it. The peer, in the same run: the same page while no run is on, which has a chart and no
record.
"""

import os
import shutil
import statistics
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[2]))

from live_watchers import Service, free_port
from opening import ARGUMENTS, SCREENS, opened
from sqlmodel import Session

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.alarm_tables import AlarmEvent
from logger.store.scans import ScanWriter

HOURS, MARKS, JARS, ALARMS = 12, 40, 60, 20
PLACES = ("pot", "head", "column", "coolant_in", "coolant_out", "spout", "ferment", "room")
CUTS = {0: "first_drop", 3: "foreshots_end", 8: "hearts", 34: "tails"}


def readings(data, now):
    """Write the temperatures up to now."""
    database.prepare(data)
    engine = database.engine(data)
    series = [SeriesKey(f"28-{n:012x}", "temperature_c", 16) for n in range(1, len(PLACES) + 1)]
    last = int(now.timestamp())
    writer = ScanWriter(engine)
    writer.append_many(
        Scan(slot, 1, tuple(Reading(one, Grade.OK, 16 * (20 + 8 * n) + slot // 60 % 40)
                            for n, one in enumerate(series)))
        for slot in range(last - HOURS * 3600, last)
    )  # fmt: skip
    writer.seal_due(last)
    with Session(engine) as session:
        for n in range(ALARMS):
            at = now - timedelta(minutes=30 * n + 5)
            session.add(AlarmEvent(
                rule="hot_still_unattended", subject=f"place {n}", where=f"still {n}", at=at,
                slot=int(at.timestamp()), what="raised", state_before="normal",
                state_after="unacknowledged", who="the alarms", priority="low",
            ))  # fmt: skip
        session.commit()
    engine.dispose()
    return series


def record(url, series, now):
    """Enter the run as people would have."""
    began = now - timedelta(hours=HOURS)
    with httpx.Client(base_url=f"{url}api/", timeout=30) as client:

        def post(path, **body):
            return client.post(path, json=body).raise_for_status().json()

        still = post("vessels", name="still 1", kind="still", volume_l=100)["id"]
        for name, one in zip(PLACES, series, strict=True):
            where = {} if name in {"ferment", "room"} else {"vessel_id": still}
            place = post("places", name=name, **where)["id"]
            post("placements", place_id=place, probe_id=one.probe_id,
                 effective_at=began.isoformat())  # fmt: skip
        run = post("occupancies", vessel_id=still, batch="rye 9", stage="spirit",
                   started_at=began.isoformat())["id"]  # fmt: skip
        step = timedelta(hours=HOURS) / (MARKS + 2)
        for n in range(MARKS):
            kind = CUTS.get(n, ("power", "note", "other")[n % 3])
            post(f"runs/{run}/marks", kind=kind, at=(began + (n + 1) * step).isoformat(),
                 text=f"what was seen {n}", smell=["pear drops"])  # fmt: skip
        step = timedelta(hours=HOURS - 1) / (JARS + 1)
        for n in range(JARS):
            at = (began + timedelta(hours=0.9) + n * step).isoformat()
            read = {"volume_l": 0.5, "reading_abv": 80 - n, "temperature_c": 20}
            post(f"runs/{run}/jars", number=n + 1, at=at, **read)


def end(url):
    """Let the run be over: what the peer opens."""
    with httpx.Client(base_url=f"{url}api/", timeout=30) as client:
        [one] = client.get("occupancies").json()
        kept = ("vessel_id", "batch", "stage", "started_at", "version")
        body = {name: one[name] for name in kept} | {"ended_at": datetime.now(UTC).isoformat()}
        client.put(f"occupancies/{one['id']}", json=body).raise_for_status()


def measure(browser, url, marks, times):
    """Print when the marks were set on each screen; return the medians of the last of them."""
    medians = {}
    for name, screen in SCREENS.items():
        found = [opened(browser, url, screen, marks) for _ in range(times)]
        for mark in marks:
            values = sorted(one[mark] for one in found)
            middle = statistics.median(values)
            print(f"{name:5}: {mark} {middle:.0f} ms ({values[0]:.0f} to {values[-1]:.0f})")
        medians[name] = statistics.median(max(one.values()) for one in found)
        print(f"{name:5}: open, {' and '.join(marks)}, {medians[name]:.0f} ms")
    return medians


def main():
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        now = datetime.now(UTC)
        series = readings(Path(folder), now)
        service = Service(Path(folder), port := free_port())
        url = f"http://127.0.0.1:{port}/"
        try:
            record(url, series, now)
            began = time.perf_counter()
            body = httpx.get(f"{url}api/record/now", timeout=30)
            took_ms = (time.perf_counter() - began) * 1000
            print(f"record/now cold: {took_ms:.0f} ms, {len(body.content) / 1000:.0f} kB unpacked")
            began = time.perf_counter()
            for _ in range(10):
                httpx.get(f"{url}api/record/now", timeout=30)
            print(f"record/now warm: {(time.perf_counter() - began) * 100:.0f} ms")
            browser = playwright.chromium.launch(
                executable_path=shutil.which("chromium"), args=ARGUMENTS
            )
            print(f"{browser.version}; load of the machine before: {os.getloadavg()[0]:.2f}")
            marks = ("record", "first chart")
            opened(browser, url, SCREENS["desk"], marks)  # warms the service, no cache
            with_run = measure(browser, url, marks, times)
            end(url)
            print("no run on (the peer):")
            peer = measure(browser, url, ("first chart",), times)
            for name in SCREENS:
                print(f"{name:5}: {with_run[name] / peer[name]:.2f} times the page without a run")
            browser.close()
        finally:
            service.stop()


if __name__ == "__main__":
    main()
