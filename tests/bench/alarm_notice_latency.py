"""From a committed scan to its notice handed to the sender's post: bar 1 s at the 95th percentile.

The real store, feed, alarms, outbox and sender; only the post is replaced, by one that notes the
time and takes the letter. `--alarms N`: so many probes fail, one after another, at one scan a
second's pace of commits or faster. The peer is the commit itself.
"""

import argparse
import asyncio
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from statistics import quantiles
from uuid import uuid4

sys.path.insert(0, str(Path(__file__).parents[2]))

from api.alarms.notices.letters import Answer, Outcome
from api.alarms.notices.post import Post
from api.house import House
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.settings import Settings
from logger.store import database, facts
from logger.store.alarm_tables import NoticeTarget
from logger.store.scans import ScanWriter
from logger.store.tables import Place, Placement, Vessel

REFUSED_S = 10
PAUSE_S = 0.3


def furnished(data, number):
    """Make a folder with a tank of so many probes, and a target."""
    database.prepare(data)
    engine = database.engine(data)
    common = {"site": uuid4(), "who": "bench", "effective_at": datetime(2026, 1, 1, tzinfo=UTC)}
    tank = Vessel.first(name="Tank", kind="tank", volume_l=100.0, **common)
    made = [tank, NoticeTarget.first(name="phone", address="json://x", **common)]
    series = [SeriesKey(f"28-{n:012x}", "temperature_c", 16) for n in range(number)]
    for n, one in enumerate(series):
        place = Place.first(name=f"spot {n}", vessel=tank.about, **common)
        made += [place, Placement.first(place=place.about, probe_id=one.probe_id, **common)]
    facts.record(engine, *made)
    return engine, series


def scan(slot, series, refused):
    """Take a scan in which some probes refuse."""
    return Scan(
        slot,
        1,
        tuple(
            Reading(one, Grade.CRC, None) if n in refused else Reading(one, Grade.OK, 320)
            for n, one in enumerate(series)
        ),
    )


async def measured(data, number):
    """Let one probe after another fail; gives seconds from commit to hand-over, and of commits."""
    engine, series = furnished(data, number)
    writer, handed, commits, after = ScanWriter(engine), [], [], []
    slot = int(time.time()) - number * (REFUSED_S + 3) - 60
    writer.append(scan(slot, series, ()))

    def send(_post, letter, answered):
        handed.append(time.perf_counter())
        answered(Answer(letter.id, Outcome.TAKEN))

    Post.send = send
    house = House.open(Settings(data=data))
    async with house.running():
        await asyncio.to_thread(house.alarms.wait_ready)
        for failing in range(number):
            for _ in range(REFUSED_S + 2):
                slot += 1
                began_s = time.perf_counter()
                await asyncio.to_thread(writer.append, scan(slot, series, range(failing + 1)))
                committed_s = time.perf_counter()
                commits.append(committed_s - began_s)
                await asyncio.sleep(PAUSE_S if _ >= REFUSED_S - 1 else 0.02)
                if len(handed) > len(after):
                    after.append(handed[-1] - committed_s)
    writer.close()
    engine.dispose()
    return after, commits


def main() -> None:
    """Measure and print."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--alarms", type=int, default=30)
    number = ask.parse_args().alarms
    with tempfile.TemporaryDirectory() as folder:
        after, commits = asyncio.run(measured(Path(folder), number))
    for name, found in (("scan to notice handed over", after), ("the commit alone", commits)):
        cut = quantiles(found, n=20)
        print(
            f"{name}: {len(found)}, p50 {1000 * cut[9]:.1f} ms, p95 {1000 * cut[18]:.1f} ms, "
            f"most {1000 * max(found):.1f} ms"
        )


if __name__ == "__main__":
    main()
