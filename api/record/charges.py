"""What the record says of a run in a still, for the alarms that need it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Literal
from uuid import UUID

from sqlalchemy import Engine
from sqlmodel import col

from api.alarms.ground import Charge, PlannedRest
from api.record.collected import Collected, totals
from api.record.filling import open_jar, rate_now
from api.record.runs_read import RunRead, run_read
from logger.errors import NotFoundError
from logger.store import facts
from logger.store.record_tables import Batch, Lot, StageEntry, Transfer
from logger.store.tables import Occupancy
from logger.store.types import now as wall_clock

SPIRITS: Final = frozenset({"low_wines", "feints", "spirit", "blend"})


@dataclass(frozen=True, slots=True)
class RecordedCharges:
    """Reads charges from the record; `now` is the service's clock."""

    engine: Engine
    now: Callable[[], datetime] = wall_clock

    def charge(self, run_id: str) -> Charge | None:
        """Return what is known of a run's charge and of what came over."""
        read = self._read(run_id)
        if read is None:
            return None
        charge = read.charge
        volume_l = charge.volume_l if charge else None
        size_l = read.still.volume_l if read.still else None
        in_it_l = self._in_open_jar_l(read)
        kind_of_wash, on_grain = self._wash(read)
        return Charge(
            volume_l=volume_l,
            abv=charge.strength.abv if charge and charge.strength else None,
            fill_fraction=volume_l / size_l if volume_l is not None and size_l else None,
            kind_of_wash=kind_of_wash,
            on_grain=on_grain,
            collected_l=totals(read.jars).volume_l + (in_it_l or 0.0) if read.jars else None,
            receiver_fraction=_fraction(read, in_it_l),
        )

    def last_hand_at(self, run_id: str) -> datetime | None:
        """Return when somebody last did something at the still: placed a mark, changed a jar."""
        read = self._read(run_id)
        if read is None:
            return None
        done = [one.jar.effective_at for one in read.jars]
        done += [one.effective_at for one in read.marks if one.source != "proposal"]
        return max(done, default=None)

    def rest(self, run_id: str, slot_of: Callable[[datetime], int]) -> PlannedRest | None:
        """Return the newest rest that is written down of a mash."""
        held = facts.all_current(self.engine, Occupancy, col(Occupancy.about) == UUID(run_id))
        if not held:
            return None
        mash = held[0]
        rests = facts.all_current(
            self.engine,
            StageEntry,
            col(StageEntry.kind) == "rest",
            col(StageEntry.effective_at) >= mash.effective_at,
        )
        mine = [
            one
            for one in rests
            if one.batch in {None, mash.batch} and one.vessel in {None, mash.vessel}
        ]
        one = max(mine, key=lambda one: one.effective_at, default=None)
        if one is None or one.low_c is None or one.high_c is None:
            return None
        ended = None if one.ended_at is None else slot_of(one.ended_at)
        began = slot_of(one.effective_at)
        return PlannedRest(one.low_c, one.high_c, one.planned_min, began, ended)

    def yeast(self, run_id: str) -> str | None:
        """Return the name of the yeast that was pitched last into a ferment."""
        held = facts.all_current(self.engine, Occupancy, col(Occupancy.about) == UUID(run_id))
        if not held:
            return None
        ferment = held[0]
        pitched = facts.all_current(
            self.engine,
            StageEntry,
            col(StageEntry.kind) == "yeast",
            col(StageEntry.batch) == ferment.batch,
        )
        mine = [one for one in pitched if one.vessel in {None, ferment.vessel}]
        one = max(mine, key=lambda one: one.effective_at, default=None)
        return None if one is None else one.name

    def _read(self, run_id: str) -> RunRead | None:
        try:
            return run_read(self.engine, UUID(run_id))
        except NotFoundError:
            return None

    def _wash(self, read: RunRead) -> tuple[str | None, bool | None]:
        """Return of what the wash is, and whether grain or pulp is in the still."""
        found = facts.all_current(self.engine, Batch, col(Batch.name) == read.run.batch)
        if kind_of_charge(self.engine, read.run.about) == "spirit":
            return found[0].kind_of_wash if found else None, False
        return (found[0].kind_of_wash, found[0].on_grain) if found else (None, None)

    def _in_open_jar_l(self, read: RunRead) -> float | None:
        """Return what came into the open jar: as measured, else at the present rate."""
        jar = open_jar(read.jars)
        if jar is None:
            return None
        if jar.content is not None and jar.content.volume_l is not None:
            return 0.0  # counted among what came over already
        rate = rate_now(read.jars, None, None, self.now())
        minutes = (self.now() - jar.jar.effective_at) / timedelta(minutes=1)
        return None if rate is None else max(0.0, rate.ml_min * minutes / 1000.0)


def kind_of_charge(engine: Engine, run: UUID) -> Literal["wash", "spirit", "unknown"]:
    """Say what a still was charged with: a wash, or low wines, feints and the like alone."""
    charges = facts.all_current(engine, Transfer, col(Transfer.to_lot) == run)
    sources = [one.from_lot for one in charges if one.from_lot is not None]
    kinds = {one.kind for one in facts.all_current(engine, Lot, col(Lot.about).in_(sources))}
    return "wash" if "wash" in kinds else "spirit" if kinds & SPIRITS else "unknown"


def _fraction(read: RunRead, in_it_l: float | None) -> float | None:
    """Return how full the open jar is, where it is known what it holds."""
    jar = open_jar(read.jars)
    vessel = read.jar_vessels.get(jar.jar.number) if jar else None
    if jar is None or vessel is None or not vessel.volume_l:
        return None
    measured_l = _volume_l(jar)
    came_l = in_it_l if measured_l is None else measured_l
    return None if came_l is None else came_l / vessel.volume_l


def _volume_l(jar: Collected) -> float | None:
    return jar.content.volume_l if jar.content else None
