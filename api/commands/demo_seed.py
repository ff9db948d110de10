"""What the demonstration starts from: an invented small rye distillery with two batches behind it.

The past is the simulated plant's, stored through the door every scan takes.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Engine

from api import site
from api.commands import demo_record
from api.commands.demo_diary import Diary
from logger.cadence import Cadence
from logger.clock import MICRO
from logger.errors import StoreError
from logger.plant import distillery, history
from logger.plant.crew import Mark
from logger.plant.distillery import DEMO_PROBES, demo_channels, demo_size
from logger.plant.run import Run
from logger.settings import Settings
from logger.store import database, facts
from logger.store.scans import ScanWriter
from logger.store.tables import Condenser, Fact, Occupancy, Place, Placement, Setting, Vessel
from logger.store.types import now, to_datetime, to_us

BATCHES_S: Final = round(distillery.PAST_HOURS * 3600)
LIVE_S: Final = round(distillery.OPENS_AT_S - distillery.BEGINS_AT_S)
WHO: Final = "demo"
NAME: Final = "The demo rye distillery"
POWER_KW: Final = 18.0
AT_CONDENSER: Final = ("coolant_in", "coolant_out", "spout")
EMPTY: Final = "empty"


def prepare(data: Path) -> bool:
    """Make the store and what it starts from; False where an earlier demonstration made it."""
    database.prepare(data)
    engine = database.engine(data)
    try:
        if _is_fresh(engine, data):
            _Seed(engine, data).plant()
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


class _Seed:
    """The site, its vessels and probes, and what its probes said until now."""

    def __init__(self, engine: Engine, data: Path) -> None:
        self._engine = engine
        self._cadence = Cadence(Settings(data=data))
        self._barometer, self._scale = demo_channels(data)
        self._first_slot = to_us(now()) // MICRO - BATCHES_S - LIVE_S
        self._live_slot = self._first_slot + BATCHES_S
        self._common: dict[str, Any] = {
            "site": database.identity(engine).site,
            "who": WHO,
            "effective_at": _at(self._first_slot),
        }

    def plant(self) -> None:
        """Store it all."""
        vessels = list(self._vessels())
        facts.record(self._engine, self._site(), *vessels, *self._places(vessels))
        past, live = distillery.past_run(), distillery.live_run()
        until = to_us(now()) // MICRO
        past_seen = self._keep(past, self._first_slot, self._live_slot)
        live_seen = self._keep(live, self._live_slot, until)
        ids = {vessel.name: vessel for vessel in vessels}
        stages = (
            *self._occupancies(ids, past.crew.marks, self._first_slot),
            *self._occupancies(ids, live.crew.marks, self._live_slot),
        )
        facts.record(self._engine, *stages)
        demo_record.record(
            self._engine,
            self._common,
            stages,
            (past_seen, _at(self._first_slot)),
            (live_seen, _at(self._live_slot)),
            _at(until),
        )

    def _keep(self, run: Run, first_slot: int, to_slot: int) -> Diary:
        past = history.Past(run, self._cadence, barometer=self._barometer, scale=self._scale)
        diary = Diary(run)
        scans = diary.beside(past.scans(first_slot, to_slot))
        history.store(self._engine, scans, to_slot)
        return diary

    def _site(self) -> Setting:
        value = site.SiteValue(name=NAME, time_zone=site.local_time_zone(), simulated=True)
        return Setting.first(key=site.KEY, value=value.model_dump_json(), **self._common)

    def _vessels(self) -> Iterator[Vessel]:
        size = demo_size()
        yield Vessel.first(
            name="still",
            kind="still",
            volume_l=size.still.volume_l,
            material="copper",
            heat_loss_w_per_k=size.still.loss_w_k,
            heat_source=size.still.heat_source,
            power_kw=POWER_KW,
            element_cover_l=size.still.element_cover_l,
            **self._common,
        )
        for name, tank in size.tanks.items():
            yield Vessel.first(
                name=name,
                kind="mash_tun" if name == "mash tun" else "fermenter",
                volume_l=tank.size.volume_l,
                material="stainless-steel",
                heat_loss_w_per_k=tank.size.loss_w_k,
                **self._common,
            )

    def _places(self, vessels: Sequence[Vessel]) -> Iterator[Fact]:
        ids = {vessel.name: vessel.about for vessel in vessels}
        condenser = Condenser.first(
            vessel=ids["still"], kind="product", name="product condenser", **self._common
        )
        reflux = Condenser.first(
            vessel=ids["still"], kind="reflux", name="reflux condenser", **self._common
        )
        yield from (condenser, reflux)
        for probe in DEMO_PROBES:
            place = Place.first(
                name=probe.place,
                vessel=ids[probe.vessel] if probe.vessel else None,
                condenser=condenser.about if probe.place in AT_CONDENSER else None,
                head_probe=demo_size().still.head_probe if probe.place == "head" else None,
                **self._common,
            )
            yield place
            yield Placement.first(place=place.about, probe_id=probe.probe_id, **self._common)
            if probe.place == "spout":
                scale = self._scale.series
                yield Placement.first(
                    place=place.about,
                    probe_id=scale.probe_id,
                    quantity=scale.quantity,
                    **self._common,
                )

    def _occupancies(
        self, vessels: dict[str, Vessel], marks: Sequence[Mark], first_slot: int
    ) -> Iterator[Occupancy]:
        """Say what held each vessel from each mark to the vessel's next."""
        for place, mark in enumerate(marks):
            if mark.stage == EMPTY:
                continue
            until = next((one for one in marks[place + 1 :] if one.vessel == mark.vessel), None)
            common = self._common | {"effective_at": _time(mark, first_slot)}
            yield Occupancy.first(
                vessel=vessels[mark.vessel].about,
                batch=mark.batch,
                stage=mark.stage,
                ended_at=None if until is None else _time(until, first_slot),
                **common,
            )


def _time(mark: Mark, first_slot: int) -> datetime:
    return _at(first_slot) + timedelta(seconds=mark.t_s - distillery.BEGINS_AT_S)


def _at(slot: int) -> datetime:
    return to_datetime(slot * MICRO)
