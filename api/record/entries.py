"""Entries of stages: what was done and read at mash, ferment, cask and bottling.

What moves liquid is stored as a transfer in the same transaction; the books are kept from those.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Final
from uuid import UUID

from fastapi import Query
from pydantic import AwareDatetime, Field
from sqlmodel import Session, col

from api.access import Asking, Role, Visitor, needs
from api.entries import entered
from api.errors import declared
from api.house import House, Housed
from api.record.beside import BOTTLES, beside_id, found_by
from api.record.entering import (
    Change,
    Entered,
    add,
    change,
    moment,
    newest,
)
from api.record.run_bodies import entry
from api.record.stage_words import BottleFill, CaskWeight, Kind, Said, StageBody
from api.record.taking_back import add_ways_back
from api.routing import Router
from calc.hydrometer import hydrometer
from logger.errors import NotFoundError, RangeError
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.gauging import USUAL, strength_of
from logger.store.record_tables import Batch, Lot, Measure, StageEntry, Transfer
from logger.store.tables import Fact, Vessel

router = Router(prefix="/entries", tags=["entries"], dependencies=[needs(Role.WATCH)])
OPERATE = [needs(Role.OPERATE)]
Beside = tuple[type[Fact], UUID, dict[str, Any]]  # what is stored beside an entry, and its id
WATER_C: Final = 15.0  # where nobody measured it; a kilogram of water is one at any temperature
# shown by the checklist, the plan, and the reviews they belong to
ELSEWHERE: Final = ("tick", "proofing", "reference", "follows")
RENAMED: Final = {"vessel_id": "vessel", "lot_id": "lot"}
PLAIN: Final = tuple(
    name
    for name in StageEntry.model_fields
    if name not in {*Fact.model_fields, "kind", "batch", "vessel", "lot", "smell", "text", "count"}
)


class EntryChange(Change):
    """An entry as it shall stand."""

    said: StageBody


class EntryBody(Entered):
    """An entry as it stands, with what follows from it."""

    kind: Kind
    at: AwareDatetime
    batch: str | None
    vessel_id: UUID | None
    lot_id: UUID | None
    refers: UUID | None
    name: str
    mass_kg: float | None
    volume_l: float | None
    temperature_c: float | None
    reading_sg: float | None
    reference_temperature_c: float | None
    sg: Annotated[float | None, Field(description="The gravity at 20 °C, corrected.")]
    reading_abv: float | None
    abv: Annotated[float | None, Field(description="The strength at 20 °C, corrected.")]
    ph: float | None
    percent: float | None
    target_abv: float | None
    daily_fall_abv: float | None
    slow_from_abv: float | None
    tare_kg: float | None
    low_c: float | None
    high_c: float | None
    planned_min: float | None
    ended_at: AwareDatetime | None
    count: int | None
    starch_left: bool | None
    smell: list[str]
    text: str


@router.get("")
def listed(
    house: Housed,
    batch: Annotated[str | None, Query(max_length=60)] = None,
    kind: Kind | None = None,
    lot_id: UUID | None = None,
) -> list[EntryBody]:
    """Return entries, oldest first; of one batch, kind or lot where that is asked."""
    return [body_of(one) for one in entries(house, batch, kind, lot_id)]


@router.post("", status_code=201, dependencies=OPERATE, responses=declared(404, 409))
def enter(house: Housed, asking: Asking, body: StageBody) -> EntryBody:
    """Enter something of a stage."""
    _check_known(house, body)
    columns = entered(house, asking, moment(house, body.at))
    made = StageEntry.first(id=body.id, **columns, **_columns(body))
    _check_end(house, made)
    strength_in_entry(made)  # what cannot be corrected to 20 °C is refused before it is kept
    beside = [kind.first(id=own, **columns, **said) for kind, own, said in beside_of(made)]
    return body_of(add(house, made, *beside))


@router.get("/{entry_id}", responses=declared(404))
def one_entry(house: Housed, entry_id: UUID) -> EntryBody:
    """Return an entry, taken back or not."""
    return body_of(newest(house, StageEntry, entry_id))


@router.put("/{entry_id}", dependencies=OPERATE, responses=declared(404, 409))
def correct(house: Housed, asking: Asking, entry_id: UUID, body: EntryChange) -> EntryBody:
    """Correct an entry; one taken back is brought back by it."""
    old = newest(house, StageEntry, entry_id)
    if body.said.kind != old.kind:
        raise RangeError(
            f"This is an entry of {old.kind} and stays one; take it back and enter the other.",
            field="kind",
        )
    _check_known(house, body.said)
    changes = _columns(body.said) | {"withdrawn": False}
    if body.said.at is not None:
        changes["effective_at"] = moment(house, body.said.at)
    return body_of(
        change(house, asking, old, body, changes, body_of, _beside(house, asking, old, changes))
    )


def entries(
    house: House, batch: str | None = None, kind: str | None = None, lot_id: UUID | None = None
) -> Sequence[StageEntry]:
    """Read entries as they stand."""
    asked = (
        (col(StageEntry.batch), batch),
        (col(StageEntry.kind), kind),
        (col(StageEntry.lot), lot_id),
    )
    where = [column == value for column, value in asked if value is not None]
    where.append(col(StageEntry.kind).not_in(ELSEWHERE))
    return facts.all_current(house.reader.engine, StageEntry, *where)


def body_of(one: StageEntry) -> EntryBody:
    """Show an entry."""
    own = {name: getattr(one, name) for name in PLAIN}
    return EntryBody(
        **entry(one),
        **own,
        kind=one.kind,
        at=one.effective_at,
        batch=one.batch,
        vessel_id=one.vessel,
        lot_id=one.lot,
        count=one.count,
        sg=sg_of(one),
        abv=strength_in_entry(one),
        smell=json.loads(one.smell),
        text=one.text,
    )


def sg_of(one: StageEntry) -> float | None:
    """Correct a gravity for temperature, by calc."""
    if one.reading_sg is None or one.temperature_c is None:
        return None
    reference_c = one.reference_temperature_c or 20.0
    return hydrometer(one.reading_sg, one.temperature_c, reference_c).sg


def strength_in_entry(one: StageEntry) -> float | None:
    """Correct a strength that was read to 20 °C, by calc; None where none was."""
    strength = strength_of(Measure(**_read(one)))
    return None if strength is None else strength.abv


def beside_of(one: StageEntry) -> Sequence[Beside]:
    """Say what the books take of an entry: what it moves, or finds; nothing of most."""
    if one.kind == "cask_weight":
        net_kg = max((one.mass_kg or 0.0) - (one.tare_kg or 0.0), 0.0)
        weighed = {"lot": one.lot, "mass_kg": net_kg} | _read(one)
        return [(Measure, beside_id(one), weighed)]
    if one.kind == "correction":
        return [(Measure, beside_id(one), {})]  # what was found stands in the measure alone
    if one.kind == "bottle_fill":
        return _bottled(one)
    moves = _moved_by(one)
    return [] if moves is None else [(Transfer, beside_id(one), moves)]


def _bottled(one: StageEntry) -> Sequence[Beside]:
    """Put what was filled into bottles, a lot of its own."""
    bottles = beside_id(one, BOTTLES)
    lot = {"kind": "bottles", "name": one.name, "batch": one.batch}
    volume_l = (one.count or 0) * (one.volume_l or 0.0)
    filled = {"from_lot": one.lot, "to_lot": bottles, "kind": "bottle", "text": one.text}
    filled |= {"volume_l": volume_l} | _read(one)
    return [(Lot, bottles, lot), (Transfer, beside_id(one), filled)]


def _read(one: StageEntry) -> dict[str, Any]:
    if one.reading_abv is None:
        return {"reading_abv": None, "temperature_c": None, "instrument": None}
    return {
        "reading_abv": one.reading_abv,
        "temperature_c": one.temperature_c,
        "instrument": USUAL,
    }


def _moved_by(one: StageEntry) -> dict[str, Any] | None:
    amount = {"volume_l": one.volume_l, "volume_temperature_c": one.temperature_c}
    if one.kind == "sample":
        return {"from_lot": one.lot, "kind": "sample", "text": one.text} | amount
    if one.kind == "top_up":
        ends = {"from_lot": one.refers, "to_lot": one.lot}
        return ends | {"kind": "merge", "text": one.text} | amount
    if one.kind == "water_added":
        at_c = WATER_C if one.temperature_c is None else one.temperature_c
        water = {"reading_abv": 0.0, "reading_error_abv": 0.0, "instrument": "density_meter"}
        poured = {"volume_l": one.volume_l, "mass_kg": one.mass_kg, "temperature_c": at_c}
        return {"to_lot": one.lot, "kind": "dilute", "text": one.text} | water | poured
    return None


def _beside(
    house: House, asking: Visitor, old: StageEntry, changes: Mapping[str, Any]
) -> Sequence[Fact]:
    """Correct what is beside an entry as the entry is corrected."""
    after = StageEntry(**{**old.model_dump(), **changes})
    _check_end(house, after)
    strength_in_entry(after)
    common: dict[str, Any] = {"withdrawn": after.withdrawn, "effective_at": after.effective_at}
    return [
        _stored_beside(house, old, kind, own).correction(who=asking.name, **said, **common)
        for kind, own, said in beside_of(after)
    ]


def _stored_beside(house: House, entry: StageEntry, kind: type[Fact], own: UUID) -> Fact:
    """Read what is stored beside an entry."""
    if entry.kind == "correction":
        with told(file_of(house.engine)), Session(house.engine) as session:
            own = found_by(session, entry)
    return newest(house, kind, own)


def _columns(body: Said) -> dict[str, Any]:
    said = body.model_dump(exclude={"id", "at"})
    found = {RENAMED.get(name, name): value for name, value in said.items()}
    if "smell" in found:
        found["smell"] = json.dumps(found["smell"], ensure_ascii=False)
    return found


def _check_known(house: House, body: Said) -> None:
    """See that what an entry is of is there, and that a cask's weighing can be."""
    if isinstance(body, CaskWeight):
        _check_cask(body)
    engine = house.reader.engine
    if body.batch is not None and not facts.all_current(
        engine, Batch, col(Batch.name) == body.batch
    ):
        raise NotFoundError(f"There is no batch {body.batch}; load the list of batches again.")
    if body.vessel_id is not None:
        facts.get(engine, Vessel, body.vessel_id)
    if body.lot_id is not None:
        lot = facts.get(engine, Lot, body.lot_id)
        if isinstance(body, BottleFill) and lot.kind == "bottles":
            raise RangeError(
                f"{lot.name} is bottles already; choose the lot they were filled from.",
                field="lot_id",
            )


def _check_cask(body: CaskWeight) -> None:
    """See that a cask weighs no less than it does empty, and what its strength needs is there."""
    if body.mass_kg < body.tare_kg:
        raise RangeError(
            f"The full cask weighs {body.mass_kg:g} kg, less than the {body.tare_kg:g} kg it "
            "weighs empty; correct one of them.",
            field="mass_kg",
        )
    if body.reading_abv is not None and body.temperature_c is None:
        raise RangeError(
            "A strength needs the temperature it was read at; give temperature_c.",
            field="temperature_c",
        )


def _check_end(house: House, one: StageEntry) -> None:
    """See that what has ended did so after it began, and not in the future."""
    if one.ended_at is None:
        return
    moment(house, one.ended_at, "ended_at")
    if one.ended_at <= one.effective_at:
        raise RangeError(
            f"It would end at {one.ended_at.isoformat(timespec='minutes')}, not after its begin "
            f"at {one.effective_at.isoformat(timespec='minutes')}; give a later end.",
            field="ended_at",
        )


add_ways_back(
    router, StageEntry, "/{entry_id}", EntryBody, lambda _, one: body_of(one), beside=_beside,
    back="Take an entry back; the record keeps it.",
    undone="Take the last change of an entry back.",
)  # fmt: skip
