"""Every vessel that is occupied now, with all that its estimator is to know."""

import logging
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final, Literal
from uuid import UUID

from sqlalchemy import Engine

from api.alarms.rules import Rule
from api.estimates.facts.ends import run_ends
from api.estimates.facts.house import House
from api.estimates.facts.past import past_runs
from api.estimates.facts.runs import run_ground
from api.estimates.facts.tanks import ferment_ground, mash_ground, yeast_maximum_c
from api.estimates.ground import (
    FermentGround,
    MashGround,
    PastRun,
    ProbeGround,
    RunGround,
    StillGround,
)
from api.estimates.steps import Ways
from api.record.runs_read import read_of
from calc.errors import WormtubError
from logger.store.record_rules import RUNS, SHOWS_NO_STRENGTH
from logger.store.tables import Occupancy, Vessel
from logger.store.timeline import EpochTable

log = logging.getLogger(__name__)

Kind = Literal["still", "ferment", "mash"]
Ground = RunGround | FermentGround | MashGround

TOLD_RUNS: Final = frozenset(RUNS) - frozenset(SHOWS_NO_STRENGTH)  # water has nothing to estimate
POT, MASH = "pot", "mash"


@dataclass(frozen=True, slots=True)
class Held:
    """A vessel, what holds it, how its readings reach it, and what its estimator is to know."""

    run_id: UUID
    vessel_id: UUID
    vessel: str
    batch: str
    stage: str
    kind: Kind
    from_slot: int
    ways: Ways
    still: StillGround | None
    ground: Ground
    probes: Mapping[str, ProbeGround]

    def is_seen_as(self, other: "Held") -> bool:
        """Say whether what was seen of the one counts for the other: only the record differs."""
        mine = (self.run_id, self.kind, self.from_slot, self.ways, self.still)
        return mine == (other.run_id, other.kind, other.from_slot, other.ways, other.still)


@dataclass(frozen=True, slots=True)
class Holding:
    """All vessels that are occupied, and until when that holds."""

    held: tuple[Held, ...] = ()
    epochs: EpochTable = field(default_factory=EpochTable)
    changes_at: datetime | None = None


@dataclass(slots=True)
class HeldReader:
    """Reads them from a store; what earlier runs taught is kept until one of them changes."""

    engine: Engine
    yeast_rule: Rule
    _past: dict[UUID, list[PastRun]] = field(default_factory=dict)
    _unread: set[UUID] = field(default_factory=set)  # what could not be read, and was said

    def read(self, now: datetime) -> Holding:
        """Read them as they hold at a moment; one that cannot be read is left out, and said."""
        house = House.read(self.engine, now)
        found = []
        for one in house.held:
            vessel = house.vessel(one.vessel)
            kind = kind_of(one, vessel)
            if vessel is not None and kind is not None:
                found += self._read(house, one, vessel, kind)
        return Holding(tuple(found), house.epochs, house.changes_at)

    def forget(self, changed: Collection[UUID]) -> None:
        """Take note of the runs that changed; none named means that anything may have."""
        if not changed or not set(changed) <= set(self._past):
            self._past.clear()

    def _read(self, house: House, one: Occupancy, vessel: Vessel, kind: Kind) -> list[Held]:
        try:
            found = self._held(house, one, vessel, kind)
        except WormtubError:
            if one.about not in self._unread:
                log.exception("The record of %s (%s) cannot be estimated from.", vessel.name, kind)
            self._unread.add(one.about)
            return []
        self._unread.discard(one.about)
        return [found]

    def _held(self, house: House, one: Occupancy, vessel: Vessel, kind: Kind) -> Held:
        from_slot = house.slot_of(one.effective_at)
        ways, probes = house.ways(self.engine, vessel, from_slot), house.probes(vessel)
        if kind == "mash" and MASH not in ways.places and POT in ways.places:
            ways = replace(ways, places={**ways.places, MASH: ways.places[POT]})
            probes |= {MASH: probes[POT]} if POT in probes else {}
        return Held(
            run_id=one.about,
            vessel_id=vessel.about,
            vessel=vessel.name,
            batch=one.batch,
            stage=one.stage,
            kind=kind,
            from_slot=from_slot,
            ways=ways,
            still=house.still(vessel) if kind == "still" else None,
            ground=self._ground(house, one, vessel, kind),
            probes=probes,
        )

    def _ground(self, house: House, one: Occupancy, vessel: Vessel, kind: Kind) -> Ground:
        if kind == "mash":
            return mash_ground(self.engine, one, vessel, house.slot_of)
        if kind == "ferment":
            most_c = yeast_maximum_c(self.engine, self.yeast_rule)
            return ferment_ground(self.engine, one, vessel, house.slot_of, most_c)
        if one.about not in self._past:
            self._past[one.about] = past_runs(self.engine, one)
        read, ends = read_of(self.engine, one), run_ends(self.engine)
        return run_ground(self.engine, read, house.slot_of, ends, self._past[one.about])


def kind_of(held: Occupancy, vessel: Vessel | None) -> Kind | None:
    """Say which estimator tells what a vessel holds; None where there is none for it."""
    if held.stage == "mash":
        return "mash"
    if held.stage == "ferment":
        return "ferment"
    is_still = vessel is not None and vessel.kind == "still"
    return "still" if is_still and held.stage in TOLD_RUNS else None
