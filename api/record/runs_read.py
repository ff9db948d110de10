"""A run with everything that hangs on it, read from the store."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from sqlalchemy import Engine
from sqlmodel import Session, col

from api.record.as_locked import as_locked
from api.record.collected import Collected, collected
from api.record.lot_book import LotBook
from logger.errors import NotFoundError
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.gauging import Content
from logger.store.record_rules import RUNS
from logger.store.record_tables import Jar, JarVessel, Mark, Transfer
from logger.store.standing import current
from logger.store.tables import Occupancy, Vessel


@dataclass(frozen=True, slots=True)
class RunRead:
    """A run, its still, its marks and jars in order, and its charge."""

    run: Occupancy
    still: Vessel | None
    marks: Sequence[Mark]
    jars: Sequence[Collected]
    charge: Content | None
    jar_vessels: Mapping[int, JarVessel]

    @property
    def share_base_l(self) -> float | None:
        """The pure alcohol of the charge, where it is known and there is some."""
        return (self.charge.pure_alcohol_l or None) if self.charge else None


def runs(engine: Engine, *where: object) -> Sequence[Occupancy]:
    """Read all runs, oldest first."""
    return facts.all_current(engine, Occupancy, col(Occupancy.stage).in_(RUNS), *where)  # type: ignore[arg-type]


def run_alone(engine: Engine, run_id: UUID) -> Occupancy:
    """Read one run by itself, or raise NotFoundError."""
    found = runs(engine, col(Occupancy.about) == run_id)
    if not found:
        raise NotFoundError(f"There is no run {run_id}; load the list of runs again.")
    return found[0]


def run_read(engine: Engine, run_id: UUID) -> RunRead:
    """Read one run with what hangs on it, or raise NotFoundError."""
    return read_of(engine, run_alone(engine, run_id))


def read_of(engine: Engine, run: Occupancy) -> RunRead:
    """Read what hangs on a run."""
    with told(file_of(engine)), Session(engine) as session:
        stills = current(session, Vessel, col(Vessel.about) == run.vessel)
        marks = current(session, Mark, col(Mark.run) == run.about)
        jars = current(session, Jar, col(Jar.run) == run.about)
        vessels = {one.number: one for one in current(session, JarVessel)}
        locked = as_locked(session, jars).get(run.about, ())
        charge = LotBook(session).charge(run.about)
        session.expunge_all()
    return RunRead(
        run=run,
        still=stills[0] if stills else None,
        marks=marks,
        jars=collected(run, jars, marks, vessels, locked),
        charge=charge,
        jar_vessels=vessels,
    )


def poured(engine: Engine, jars: Sequence[UUID]) -> dict[UUID, list[Transfer]]:
    """Read what was taken from each jar, of those anything was taken from, the first first."""
    found: dict[UUID, list[Transfer]] = {}
    for one in facts.all_current(engine, Transfer, col(Transfer.from_lot).in_(jars)):
        if one.from_lot is not None:
            found.setdefault(one.from_lot, []).append(one)
    return found
