"""Time what the page of a long run asks for: GET /api/runs/{id} and /api/record/now.

    python tests/bench/record_page.py

A run of 12 h with 40 marks and 60 jars, each jar corrected once, among 200 other runs of 20 jars.
The application answers in this process: no network and no browser.
"""

import asyncio
import sys
import tempfile
from datetime import datetime, timedelta
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter

import httpx

sys.path.insert(0, str(Path(__file__).parents[2]))

from record_run import JARS, MARKS, build

from api.app import create_app
from logger.settings import Settings
from logger.store import database, facts
from logger.store.record_tables import Jar
from logger.store.tables import Occupancy, Vessel
from logger.store.types import now

OTHERS = 200
TIMES = 50


def add_others(data: Path) -> None:
    """Put other runs beside it, as years of use do."""
    engine = database.engine(data)
    base = {"site": database.identity(engine).site, "who": "Mara"}
    began = now() - timedelta(days=2 * OTHERS)
    still = Vessel.first(name="other", kind="still", volume_l=60.0, effective_at=began, **base)
    facts.record(engine, still)
    for number in range(OTHERS):
        at = began + timedelta(days=number)
        run = Occupancy.first(
            vessel=still.about, batch=f"rye {number}", stage="spirit", effective_at=at,
            ended_at=at + timedelta(hours=8), **base,
        )  # fmt: skip
        facts.record(engine, run)
        facts.record(engine, *_jars(run, base, at))
    engine.dispose()


def _jars(run: Occupancy, base: dict, at: datetime) -> list[Jar]:
    minute = timedelta(minutes=1)
    return [
        Jar.first(run=run.about, number=n, volume_l=0.5, effective_at=at + n * minute, **base)
        for n in range(1, 21)
    ]


async def timed(client: httpx.AsyncClient, path: str) -> tuple[list[float], int]:
    """Ask again and again; return the milliseconds each took and the size of the answer."""
    took, size = [], 0
    for _ in range(TIMES):
        began = perf_counter()
        answer = await client.get(path)
        took.append(1000 * (perf_counter() - began))
        answer.raise_for_status()
        size = len(answer.content)
    return took, size


async def measure(data: Path, run_id: str) -> None:
    """Print how long each answer took."""
    app = create_app(Settings(data=data))
    transport = httpx.ASGITransport(app, client=("127.0.0.1", 50_000))
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8080") as client,
    ):
        for path in (f"/api/runs/{run_id}", "/api/record/now", "/api/runs"):
            took, size = await timed(client, path)
            p95 = quantiles(took, n=20)[-1]
            name = path.replace(run_id, "{id}")
            print(
                f"{name:20} first {took[0]:6.1f} ms, median {median(took):6.1f} ms, "
                f"p95 {p95:6.1f} ms, {size / 1000:.0f} kB"
            )


def main() -> None:
    """Build the run and time its answers."""
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder)
        run_id = build(data)
        add_others(data)
        print(f"{MARKS} marks, {JARS} jars, {OTHERS} other runs; {TIMES} times each")
        asyncio.run(measure(data, run_id))


if __name__ == "__main__":
    main()
