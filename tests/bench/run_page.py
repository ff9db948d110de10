"""The time to open a finished run, and four laid over each other: bars 1 s and 2 s.

    python tests/bench/run_page.py [TIMES]

Four runs of twelve hours, each with 40 marks, 60 jars and 20 alarm events, and readings of eight
series at 1 Hz under all of them, served by the real service to headless Chromium and opened as
`opening` tells. The page's marks: `panels in sight` when all that a screen shows is drawn, `panels
drawn` when what one would have to scroll to stands as well. The peer, in the same run: the same
page's bare answer, without a browser.
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
from record_live_page import ALARMS, CUTS, HOURS, JARS, MARKS, PLACES
from sqlmodel import Session

from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.store import database
from logger.store.alarm_tables import AlarmEvent
from logger.store.scans import ScanWriter

RUNS = 4
SPELL = (("raised", "normal", "unacknowledged"), ("cleared", "unacknowledged", "normal"))
BETWEEN = timedelta(hours=1)
DRAWN = ("panels in sight", "panels drawn")


def readings(data, first, last):
    """Write the temperatures of all runs, a slow rise in each."""
    database.prepare(data)
    engine = database.engine(data)
    series = [SeriesKey(f"28-{n:012x}", "temperature_c", 16) for n in range(1, len(PLACES) + 1)]
    begin, end = int(first.timestamp()), int(last.timestamp())
    round_s = int((timedelta(hours=HOURS) + BETWEEN).total_seconds())
    writer = ScanWriter(engine)
    writer.append_many(
        Scan(slot, 1, tuple(Reading(one, Grade.OK,
                                    16 * (20 + 4 * n) + (slot - begin) % round_s // 60 + slot % 3)
                            for n, one in enumerate(series)))
        for slot in range(begin, end)
    )  # fmt: skip
    writer.seal_due(end)
    engine.dispose()
    return series


def alarms(data, begins):
    """Write each run's alarms: up, and a minute later gone."""
    engine = database.engine(data)
    with Session(engine) as session:
        for begin in begins:
            for n in range(ALARMS):
                for after, (what, before, now) in enumerate(SPELL):
                    at = begin + timedelta(minutes=30 * n + 5 + after)
                    session.add(AlarmEvent(
                        rule="coolant_outlet_warm", subject=f"place {n}", where="still 1, spout",
                        at=at, slot=int(at.timestamp()), what=what, state_before=before,
                        state_after=now, who="the alarms", priority="low",
                    ))  # fmt: skip
        session.commit()
    engine.dispose()


def record(url, series, begins):
    """Enter the runs as people would have; return their ids."""
    with httpx.Client(base_url=f"{url}api/", timeout=60) as client:

        def post(path, **body):
            return client.post(path, json=body).raise_for_status().json()

        still = post("vessels", name="still 1", kind="still", volume_l=100)["id"]
        for name, one in zip(PLACES, series, strict=True):
            where = {} if name in {"ferment", "room"} else {"vessel_id": still}
            place = post("places", name=name, **where)["id"]
            post("placements", place_id=place, probe_id=one.probe_id,
                 effective_at=begins[0].isoformat())  # fmt: skip
        return [_run(post, still, f"rye {n + 1}", begin) for n, begin in enumerate(begins)]


def _run(post, still, batch, began):
    ended = began + timedelta(hours=HOURS)
    run = post("occupancies", vessel_id=still, batch=batch, stage="spirit",
               started_at=began.isoformat(), ended_at=ended.isoformat())["id"]  # fmt: skip
    step = timedelta(hours=HOURS) / (MARKS + 2)
    for n in range(MARKS):
        kind = CUTS.get(n, ("power", "note", "other")[n % 3])
        power = {"power_kw": 4 + n % 5} if kind == "power" else {}
        post(f"runs/{run}/marks", kind=kind, at=(began + (n + 1) * step).isoformat(),
             text=f"what was seen {n}", smell=["pear drops"], **power)  # fmt: skip
    step = timedelta(hours=HOURS - 1) / (JARS + 1)
    for n in range(JARS):
        at = (began + timedelta(hours=0.9) + n * step).isoformat()
        read = {"volume_l": 0.5, "reading_abv": 80 - n, "temperature_c": 20}
        post(f"runs/{run}/jars", number=n + 1, at=at, **read)
    return run


def measure(browser, url, bar_ms, what, times):
    for name, screen in SCREENS.items():
        found = [opened(browser, url, screen, DRAWN) for _ in range(times)]
        for mark in DRAWN:
            values = sorted(one[mark] for one in found)
            middle = statistics.median(values)
            span = f"{values[0]:.0f} to {values[-1]:.0f}"
            print(f"{name:5}: {what}, {mark} {middle:.0f} ms ({span}), bar {bar_ms} ms")


def answers(url, what):
    """Print how long the service takes for an answer, cold and warm."""
    took_ms = []
    for _ in range(6):
        began = time.perf_counter()
        body = httpx.get(url, timeout=60).raise_for_status()
        took_ms.append((time.perf_counter() - began) * 1000)
    warm = statistics.median(took_ms[1:])
    print(f"{what}: {took_ms[0]:.0f} ms cold, {warm:.0f} warm, {len(body.content) / 1000:.0f} kB")


def main():
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        last = datetime.now(UTC) - timedelta(hours=1)
        first = last - RUNS * (timedelta(hours=HOURS) + BETWEEN)
        begins = [first + n * (timedelta(hours=HOURS) + BETWEEN) for n in range(RUNS)]
        series = readings(Path(folder), first, last)
        alarms(Path(folder), begins)
        service = Service(Path(folder), port := free_port())
        url = f"http://127.0.0.1:{port}/"
        try:
            ids = record(url, series, begins)
            every = "&".join(f"run={one}" for one in ids)
            answers(f"{url}api/reviews/runs/{ids[-1]}", "the run's answer")
            answers(f"{url}api/reviews/compare?{every}&buckets=300", "the comparison's answer")
            answers(f"{url}api/reviews/runs", "the list's answer")
            browser = playwright.chromium.launch(
                executable_path=shutil.which("chromium"), args=ARGUMENTS
            )
            print(f"{browser.version}; load of the machine before: {os.getloadavg()[0]:.2f}")
            opened(browser, f"{url}run.html?id={ids[0]}", SCREENS["desk"], DRAWN)  # warms
            measure(browser, f"{url}run.html?id={ids[-1]}", 1000, "run", times)
            measure(browser, f"{url}compare.html?{every}", 2000, "four runs", times)
            browser.close()
        finally:
            service.stop()


if __name__ == "__main__":
    main()
