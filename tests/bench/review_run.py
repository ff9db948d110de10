"""Time what the pages of a finished run ask for: its review, four overlaid, lists and trends.

    python tests/bench/review_run.py

A run of 12 h read every second at eight places, with 40 marks, 60 jars, 20 alarms and what was
estimated each minute; three more like it for the overlay; 200 other runs of 20 jars for the lists.
The application answers in this process: no network and no browser. The peer is the run's record
alone, GET /api/runs/{id}, which reads no history.
"""

import asyncio
import resource
import sys
import tempfile
from datetime import datetime, timedelta
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from uuid import UUID

import httpx
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from record_page import add_others
from record_run import HOURS, JARS, MARKS, build

from api.app import create_app
from api.estimates.estimate import Estimate
from api.estimates.issued import Issue, keep
from api.reviews.scoring import NAMES
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.settings import Settings
from logger.store import database, facts
from logger.store.alarm_tables import AlarmEvent
from logger.store.record_tables import Jar, Mark, Transfer
from logger.store.scans import ScanWriter
from logger.store.tables import Occupancy, Place, Placement
from logger.store.types import now, to_us

PLACES = ("pot", "head", "column", "coolant_in", "coolant_out", "reflux_out", "spout", "room")
ALARMS = 20
RUNS = 4
TIMES = 20
SECOND_US = 1_000_000


def furnish(engine, run_id: str) -> Occupancy:
    """Put probes at the run's still; gives the run."""
    run = facts.get(engine, Occupancy, UUID(run_id))
    at = run.effective_at - timedelta(days=RUNS)
    base = {"site": run.site, "who": "Mara", "effective_at": at}
    for number, name in enumerate(PLACES):
        place = Place.first(name=name, vessel=run.vessel, **base)
        facts.record(
            engine, place, Placement.first(place=place.about, probe_id=probe(number), **base)
        )
    return run


def probe(number: int) -> str:
    """Name a probe."""
    return f"28-0000000000{number:02x}"


def read(engine, run: Occupancy) -> None:
    """Store what its probes said: the head jumps now and then."""
    first = to_us(run.effective_at) // SECOND_US
    seconds = np.arange(HOURS * 3600)
    rng = np.random.default_rng(first)
    rise = np.clip(seconds / 3600.0, 0.0, 1.0)
    rows = np.array([20.0 + 60.0 * rise + n + 0.5 * (seconds > 7200 * n) for n in range(8)])
    counts = np.round((rows + rng.normal(0.0, 0.04, rows.shape)) * 16).astype(int).T.tolist()
    series = [SeriesKey(probe(n), "temperature_c", 16) for n in range(len(PLACES))]
    writer = ScanWriter(engine)
    for begin in range(0, len(counts), 3600):
        writer.append_many(
            Scan(first + begin + place, 1, tuple(map(Reading, series, [Grade.OK] * 8, row)))
            for place, row in enumerate(counts[begin : begin + 3600])
        )
    writer.seal_due(first + len(counts) + 1200)
    writer.close()


def alarmed(engine, run: Occupancy) -> None:
    """Let twenty alarms come and go, and keep what was estimated each minute."""
    first = to_us(run.effective_at) // SECOND_US
    step = timedelta(hours=HOURS) / (ALARMS + 1)
    from sqlmodel import Session  # noqa: PLC0415 - here alone

    with Session(engine) as session:
        for number in range(1, ALARMS + 1):
            for what, after, before, minutes in (
                ("raise", "unacknowledged", "normal", 0), ("acknowledge", "acknowledged",
                 "unacknowledged", 2), ("clear", "normal", "acknowledged", 5),
            ):  # fmt: skip
                at = run.effective_at + step * number + timedelta(minutes=minutes)
                session.add(
                    AlarmEvent(
                        rule="coolant_out_warm", subject=str(run.vessel), where="long still",
                        slot=to_us(at) // SECOND_US, at=at, what=what, state_before=before,
                        state_after=after, who="Mara", value=61.0, limit=60.0, unit="°C",
                        priority="medium",
                    )
                )  # fmt: skip
        session.commit()
    keep(
        engine,
        (
            Issue(run.about, first + minute * 60, run.effective_at, Estimate(name, 10.0, 5.0, 15.0))
            for minute in range(HOURS * 60)
            for name in NAMES
        ),
    )


def copied(engine, run: Occupancy, days: int) -> Occupancy:
    """Make the same run some days earlier."""
    apart = timedelta(days=days)
    base = {"site": run.site, "who": "Mara", "effective_at": run.effective_at - apart}
    other = Occupancy.first(
        vessel=run.vessel, batch=f"long rye {days}", stage=run.stage,
        ended_at=run.ended_at - apart, **base,
    )  # fmt: skip
    facts.record(engine, other)
    for kind in (Mark, Jar):
        made = []
        for one in facts.all_current(engine, kind, kind.run == run.about):
            told = one.model_dump(exclude={"id", "about", "supersedes", "version", "recorded_at"})
            told |= {"run": other.about, "effective_at": one.effective_at - apart}
            made.append(kind.first(**told))
        facts.record(engine, *made)
    charge = Transfer.first(
        to_lot=other.about, kind="charge", volume_l=84.0, reading_abv=28.0, temperature_c=20.0,
        **base,
    )  # fmt: skip
    facts.record(engine, charge)
    return other


def fill(data: Path) -> list[str]:
    """Make the store; gives the runs, the long one first."""
    ended_at: datetime = (now() - timedelta(hours=1)).replace(microsecond=0)
    run_id = build(data, ended_at)
    add_others(data)
    engine = database.engine(data)
    run = furnish(engine, run_id)
    runs = [*(copied(engine, run, days) for days in range(RUNS - 1, 0, -1)), run]
    for one in runs:
        read(engine, one)
    alarmed(engine, run)
    engine.dispose()
    return [str(one.about) for one in reversed(runs)]


async def timed(client: httpx.AsyncClient, path: str) -> None:
    """Ask again and again; print the median and the first."""
    spent, used, size = [], [], 0
    for _ in range(TIMES):
        begun, work = perf_counter(), process_time()
        answer = await client.get(path)
        spent.append((perf_counter() - begun) * 1e3)
        used.append((process_time() - work) * 1e3)
        assert answer.status_code == 200, answer.text
        size = len(answer.content)
    print(
        f"{path.split('?', maxsplit=1)[0][:44]:<44} {path.partition('align=')[2][:16]:<16} median "
        f"{median(spent):6.0f} ms (CPU {median(used):4.0f}), first {spent[0]:6.0f} ms, "
        f"{size / 1e3:.0f} kB"
    )


async def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder)
        runs = fill(data)
        app = create_app(Settings(data=data))
        transport = httpx.ASGITransport(app, client=("127.0.0.1", 50_000))
        print(f"A run of {HOURS} h, {MARKS} marks, {JARS} jars, {ALARMS} alarms.")
        async with httpx.AsyncClient(
            transport=transport, base_url="http://127.0.0.1:8080"
        ) as client:
            await timed(client, f"/api/runs/{runs[0]}")
            await timed(client, f"/api/reviews/runs/{runs[0]}")
            ids = "&".join(f"run={one}" for one in runs)
            for align in ("clock", "first_drop", "pot_temperature", "alcohol"):
                await timed(client, f"/api/reviews/compare?{ids}&align={align}")
            await timed(client, "/api/reviews/runs")
            await timed(client, "/api/reviews/batches")
            await timed(client, "/api/reviews/trends")
        app.house.close()
    print(f"At most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB.")


if __name__ == "__main__":
    asyncio.run(main())
