"""A run of twelve hours with its marks and jars, for the benches of its page.

`build(data)` makes a store with it in a folder that has none, and returns the run's id.
"""

import json
from datetime import datetime, timedelta
from pathlib import Path

from uuid_utils.compat import uuid7

from logger.store import database, facts
from logger.store.record_tables import Batch, Jar, JarVessel, Lot, Mark, Measure, Transfer
from logger.store.tables import Occupancy, Vessel
from logger.store.types import now

HOURS = 12
MARKS = 40
JARS = 60
CUTS = ("foreshots", "heads", "hearts", "tails", "feints")
DIVIDING = ("first_drop", "foreshots_end", "hearts", "tails")


def build(data: Path, ended_at: datetime | None = None) -> str:
    """Make the run, on until now or ended; every fifth jar was read, and every jar corrected."""
    data.mkdir(parents=True, exist_ok=True)
    database.prepare(data)
    engine = database.engine(data)
    began = (ended_at or now()) - timedelta(hours=HOURS)
    base = {"site": database.identity(engine).site, "who": "Mara", "effective_at": began}
    still = Vessel.first(name="long still", kind="still", volume_l=120.0, **base)
    run = Occupancy.first(
        vessel=still.about, batch="long rye", stage="spirit", ended_at=ended_at, **base
    )
    wines = Lot.first(kind="low_wines", name="low wines", batch="long rye", **base)
    gauged = Measure.first(
        lot=wines.about, volume_l=90.0, reading_abv=28.0, temperature_c=20.0, **base
    )
    charge = Transfer.first(
        from_lot=wines.about, to_lot=run.about, kind="charge", volume_l=84.0, **base
    )
    batch = Batch.first(name="long rye", kind_of_wash="grain", **base)
    facts.record(engine, still, batch, run, wines, gauged, charge)
    numbers = range(1, JARS + 1)
    vessels = [JarVessel.first(number=n, tare_kg=0.5, volume_l=0.5, **base) for n in numbers]
    step = timedelta(hours=HOURS) / (JARS + 1)
    jars = [_jar(run, n, base | {"effective_at": began + step * n}) for n in numbers]
    facts.record(engine, *vessels, *jars)
    facts.record(engine, *(_classed(one) for one in jars))
    step = timedelta(hours=HOURS) / (MARKS + 1)
    marks = [_mark(run, n, base | {"effective_at": began + step * n}) for n in range(1, MARKS + 1)]
    facts.record(engine, *marks)
    engine.dispose()
    return str(run.about)


def _jar(run: Occupancy, number: int, base: dict) -> Jar:
    read = number % 5 == 1
    return Jar.first(
        id=uuid7(), run=run.about, number=number, volume_l=0.42,
        reading_abv=84.0 - number * 0.6 if read else None,
        temperature_c=21.5 if read else None, **base,
    )  # fmt: skip


def _mark(run: Occupancy, number: int, base: dict) -> Mark:
    kind = DIVIDING[number // 10] if number % 10 == 0 and number < MARKS else "note"
    return Mark.first(run=run.about, kind=kind, text=f"note {number}", smell='["bread"]', **base)


def _classed(jar: Jar) -> Jar:
    cut = CUTS[(jar.number - 1) * len(CUTS) // JARS]
    return jar.correction(who="Mara", cut=cut, smell=json.dumps(["pear"]))
