"""Condensers: what turns a still's vapour back into liquid."""

from typing import Annotated, Literal
from uuid import UUID

from fastapi import Query
from pydantic import Field

from api.access import Asking, Role, needs
from api.entries import (
    Entry,
    NewEntry,
    Record,
    Text,
    Version,
    columns_of,
    correct,
    entered,
    standing,
    store,
)
from api.errors import declared
from api.house import Housed
from api.routing import Router
from logger.errors import ConflictError
from logger.store import facts
from logger.store.tables import Condenser

Kind = Literal["product", "reflux", "worm_tub"]
FlowLMin = Annotated[float, Field(gt=0, le=10_000, allow_inf_nan=False)]
DutyKw = Annotated[float, Field(gt=0, le=2000, allow_inf_nan=False)]

router = Router(prefix="/condensers", tags=["vessels"], dependencies=[needs(Role.WATCH)])


class CondenserFields(Entry):
    """What is said of a condenser."""

    vessel_id: UUID
    kind: Kind
    name: Text
    flow_l_min: Annotated[FlowLMin | None, Field(description="Of water, at most.")] = None
    duty_kw: Annotated[DutyKw | None, Field(description="Heat it takes, at most.")] = None


class NewCondenser(CondenserFields, NewEntry):
    """A condenser to add to a still."""


class CondenserChange(CondenserFields):
    """A condenser as it shall stand."""

    version: Version


class CondenserRecord(Record):
    """A condenser as it stands."""

    vessel_id: UUID
    kind: Kind
    name: str
    flow_l_min: float | None
    duty_kw: float | None


@router.get("", name="condensers")
def listed(house: Housed) -> list[CondenserRecord]:
    """Return all condensers."""
    return [_record(one) for one in facts.condensers(house.reader.engine)]


@router.post(
    "",
    name="add_condenser",
    status_code=201,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def add(house: Housed, asking: Asking, body: NewCondenser) -> CondenserRecord:
    """Add a condenser to a still."""
    made = Condenser.first(id=body.id, **_columns(body), **entered(house, asking))
    store(house, made)
    return _record(facts.get(house.engine, Condenser, made.about))


@router.put(
    "/{condenser_id}",
    name="change_condenser",
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def change(
    house: Housed, asking: Asking, condenser_id: UUID, body: CondenserChange
) -> CondenserRecord:
    """Correct what is said of a condenser."""
    old = facts.get(house.engine, Condenser, condenser_id)
    return _record(correct(house, asking, old, body.version, _columns(body)))


@router.delete(
    "/{condenser_id}",
    name="withdraw_condenser",
    status_code=204,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def withdraw(
    house: Housed, asking: Asking, condenser_id: UUID, version: Annotated[Version, Query()]
) -> None:
    """Take a condenser back that was entered by mistake; the record keeps it."""
    old = facts.get(house.engine, Condenser, condenser_id)
    on_it = [one.name for one in facts.places(house.engine) if one.condenser == condenser_id]
    if on_it:
        raise ConflictError(
            f"{old.name} still has the places {', '.join(on_it)}; take those back first."
        )
    correct(house, asking, old, version, {"withdrawn": True})


def _columns(body: CondenserFields) -> dict[str, object]:
    kept = body.model_dump(exclude={"id", "version", "vessel_id"})
    return kept | {"vessel": body.vessel_id}


def _record(fact: Condenser) -> CondenserRecord:
    return CondenserRecord.model_validate(
        standing(fact) | columns_of(fact, CondenserRecord) | {"vessel_id": fact.vessel}
    )
