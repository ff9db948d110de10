"""What the demonstration starts from: an invented small rye distillery, mid-run, with a past."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Engine

from api import site
from logger.bus.simulated_still import (
    DEMO_OPENS_AT_S,
    DEMO_PROBES,
    demo_channels,
    demo_probes,
    pressure_hpa_at,
)
from logger.cadence import Cadence
from logger.clock import MICRO
from logger.errors import StoreError
from logger.reading import Grade, Reading, Scan, SeriesKey
from logger.settings import Settings
from logger.slots import on_grid
from logger.store import database, facts
from logger.store.scans import ScanWriter
from logger.store.tables import Fact, Place, Placement, Setting, Vessel
from logger.store.types import now, to_us

PAST_S: Final = 6 * 3600
STORED_TOGETHER: Final = 600
WHO: Final = "demo"
NAME: Final = "The demo rye distillery"
VESSELS: Final = {"still": ("still", 300.0), "fermenter 1": ("fermenter", 900.0)}  # kind, litres
BITS: Final = 12


def prepare(data: Path) -> bool:
    """Make the store and what it starts from; False where an earlier demonstration made it."""
    database.prepare(data)
    engine = database.engine(data)
    try:
        if _is_fresh(engine, data):
            opened_at = now()
            facts.record(engine, *_site(engine, opened_at - timedelta(seconds=PAST_S)))
            _fill(engine, data, to_us(opened_at) // MICRO)
            return True
    finally:
        engine.dispose()
    return False


def _is_fresh(engine: Engine, data: Path) -> bool:
    """Tell a new store from a demonstration's; a real record is never mixed with a simulation."""
    said = [one for one in facts.all_current(engine, Setting) if one.key == site.KEY]
    if said and site.SiteValue.model_validate_json(said[-1].value).simulated:
        return False
    writer = ScanWriter(engine)
    used = writer.last_slot() is not None or said or facts.vessels(engine)
    writer.close()
    if used:
        raise StoreError(
            f"The data folder {data} holds a real record; the demonstration is not mixed into "
            "it: choose an empty folder with --data, or none."
        )
    return True


def _site(engine: Engine, since: datetime) -> Iterator[Fact]:
    common: dict[str, Any] = {
        "site": database.identity(engine).site,
        "who": WHO,
        "effective_at": since,
    }
    value = site.SiteValue(name=NAME, time_zone=site.local_time_zone(), simulated=True)
    yield Setting.first(key=site.KEY, value=value.model_dump_json(), **common)
    vessels = {
        name: Vessel.first(name=name, kind=kind, volume_l=volume_l, **common)
        for name, (kind, volume_l) in VESSELS.items()
    }
    yield from vessels.values()
    for probe in DEMO_PROBES:
        vessel = vessels[probe.vessel].about if probe.vessel else None
        place = Place.first(name=probe.place, vessel=vessel, **common)
        yield place
        yield Placement.first(place=place.about, probe_id=probe.probe_id, **common)


def _fill(engine: Engine, data: Path, now_slot: int) -> None:
    """Store a past through the same door as every scan."""
    writer = ScanWriter(engine)
    scans = _past(data, now_slot)
    while some := list(islice(scans, STORED_TOGETHER)):
        writer.append_many(some)
    writer.seal_due(now_slot)
    writer.close()


def _past(data: Path, now_slot: int) -> Iterator[Scan]:
    """Take the scans a logger would have taken, at its cadence."""
    cadence = Cadence(Settings(data=data))
    slot = now_slot - PAST_S
    while slot < now_slot:
        t_s = DEMO_OPENS_AT_S + slot - now_slot
        scan = Scan(slot, cadence.period_s(slot), tuple(_readings(data, t_s)))
        yield scan
        cadence.see(scan, sweep_us=0)
        slot = on_grid(slot + 1, cadence.period_s(slot + 1))


def _readings(data: Path, t_s: float) -> Iterator[Reading]:
    for probe in demo_probes():
        series = SeriesKey(probe.probe_id, "temperature_c", 16)
        yield Reading(series, Grade.OK, probe.raw_at(t_s, BITS))
    [barometer] = demo_channels(data)
    count = round(pressure_hpa_at(t_s) * barometer.series.counts_per_unit)
    yield Reading(barometer.series, Grade.OK, count)
