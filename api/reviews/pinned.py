"""The run that others of its still and purpose are held against: pinned by a person, a fact.

It is kept as an entry of the record that stands nowhere else: its name is the purpose, its vessel
the still, and it refers to the run.
"""

from collections.abc import Sequence
from typing import Final
from uuid import UUID

from sqlmodel import col

from api.access import Visitor
from api.entries import entered
from api.house import House
from api.record.entering import add
from api.record.runs_read import runs
from logger.errors import NotFoundError
from logger.store import facts
from logger.store.record_tables import StageEntry
from logger.store.tables import Occupancy

KIND: Final = "reference"


def references(house: House) -> Sequence[StageEntry]:
    """Read the pinned runs: of each still and purpose the one pinned last."""
    found = facts.all_current(house.reader.engine, StageEntry, col(StageEntry.kind) == KIND)
    latest = {(one.vessel, one.name): one for one in sorted(found, key=lambda one: one.recorded_at)}
    return list(latest.values())


def reference_for(house: House, run: Occupancy) -> StageEntry | None:
    """Return the pinned run of a run's still and purpose."""
    return next(
        (one for one in references(house) if (one.vessel, one.name) == (run.vessel, run.stage)),
        None,
    )


def pin(house: House, asking: Visitor, run_id: UUID, entry_id: UUID | None) -> StageEntry:
    """Hold others of its still and purpose against a run, from now on."""
    found = runs(house.reader.engine, col(Occupancy.about) == run_id)
    if not found:
        raise NotFoundError(f"There is no run {run_id}; load the list of runs again.")
    run, old = found[0], reference_for(house, found[0])
    if old is not None and old.refers == run_id:
        return old
    if old is not None:
        made = old.correction(
            who=asking.name, refers=run_id, effective_at=house.now,
            **({} if entry_id is None else {"id": entry_id}),
        )  # fmt: skip
        return add(house, made)
    columns = entered(house, asking)
    return add(
        house,
        StageEntry.first(
            id=entry_id, kind=KIND, vessel=run.vessel, name=run.stage, refers=run_id, **columns
        ),
    )
