"""The checklist of a run: computed lines from the record, ticks kept as notes of the run."""

from typing import Annotated, Final, Literal
from uuid import UUID

from fastapi import Query
from pydantic import BaseModel, Field
from sqlmodel import col

from api.access import Asking, Role, needs
from api.entries import NewEntry, entered
from api.errors import declared
from api.house import House, Housed
from api.record.charges import RecordedCharges, kind_of_charge
from api.record.checking import Charged, State, checklist
from api.record.entering import add
from api.record.runs_read import RunRead, run_read
from api.routing import Router
from logger.store import facts
from logger.store.record_rules import SHOWS_NO_STRENGTH
from logger.store.record_tables import StageEntry

Key = Literal["vent_open", "outlet_clear", "water_proven", "receiver_placed", "element_covered"]
TICKED: Final = "tick"
CAUTION: Final = (
    "A reminder, no safety device. Spirit vapour burns and explodes: follow your local codes, and "
    "ask licensed practitioners."
)

router = Router(tags=["runs"], dependencies=[needs(Role.WATCH)])


class CheckBody(BaseModel):
    """One line: computed, or to be ticked."""

    key: str
    label: str
    state: State
    sentence: str
    ticked: bool
    ticked_by: str | None
    entry_id: Annotated[UUID | None, Field(description="The tick's entry, to take it back.")]
    version: int | None


class ChecklistBody(BaseModel):
    """The list before the heat goes on."""

    run_id: UUID
    checks: list[CheckBody]
    ready: Annotated[bool, Field(description="All is ticked, and nothing computed speaks against.")]
    caution: str


class Tick(NewEntry):
    """A line that has been seen to."""

    key: Key


@router.get("/runs/{run_id}/checklist", responses=declared(404))
def checks_of_run(
    house: Housed,
    run_id: UUID,
    on_grain: Annotated[
        bool | None, Query(description="With grain or pulp; null: as its batch says.")
    ] = None,
) -> ChecklistBody:
    """Return the checklist of a run."""
    return _list(house, run_id, on_grain=on_grain)


@router.post(
    "/runs/{run_id}/checklist",
    status_code=201,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def tick(house: Housed, asking: Asking, run_id: UUID, body: Tick) -> ChecklistBody:
    """Tick a line."""
    read = run_read(house.reader.engine, run_id)
    made = StageEntry.first(
        id=body.id, kind=TICKED, name=body.key, refers=run_id, batch=read.run.batch,
        vessel=read.run.vessel, **entered(house, asking),
    )  # fmt: skip
    add(house, made)
    return _list(house, run_id, on_grain=None)


def _list(house: House, run_id: UUID, *, on_grain: bool | None) -> ChecklistBody:
    read = run_read(house.reader.engine, run_id)
    ticks = {
        one.name: one
        for one in facts.all_current(
            house.reader.engine,
            StageEntry,
            col(StageEntry.kind) == TICKED,
            col(StageEntry.refers) == run_id,
        )
    }
    checks = [
        CheckBody(
            key=one.key,
            label=one.label,
            state=one.state,
            sentence=one.sentence,
            ticked=one.key in ticks,
            ticked_by=ticks[one.key].who if one.key in ticks else None,
            entry_id=ticks[one.key].about if one.key in ticks else None,
            version=ticks[one.key].version if one.key in ticks else None,
        )
        for one in checklist(_charged(house, read, on_grain=on_grain))
    ]
    ready = all(one.ticked if one.state == "to tick" else one.state in {"ok", "near"}
                for one in checks)  # fmt: skip
    return ChecklistBody(run_id=run_id, checks=checks, ready=ready, caution=CAUTION)


def _charged(house: House, read: RunRead, *, on_grain: bool | None) -> Charged:
    """Gather what the record knows of the charge."""
    engine = house.reader.engine
    known = RecordedCharges(engine).charge(str(read.run.about))
    strength = read.charge.strength if read.charge else None
    still = read.still
    return Charged(
        volume_l=read.charge.volume_l if read.charge else None,
        abv=strength.abv if strength else None,
        pot_l=still.volume_l if still else None,
        cover_l=still.element_cover_l if still else None,
        has_element=still is not None and still.heat_source == "element",
        on_grain=(known is not None and known.is_thick) if on_grain is None else on_grain,
        kind=kind_of_charge(engine, read.run.about),
        shows_strength=read.run.stage not in SHOWS_NO_STRENGTH,
    )
