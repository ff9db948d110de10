"""Vessels: what stands in the stillhouse."""

from typing import Annotated, Literal
from uuid import UUID

from fastapi import APIRouter, Query
from pydantic import Field

from api.access import Asking, Role, needs
from api.entries import Entry, NewEntry, Record, Text, Version, correct, entered, standing, store
from api.errors import declared
from api.house import Housed
from logger.errors import ConflictError
from logger.store import facts
from logger.store.tables import Vessel

Kind = Literal["mash_tun", "fermenter", "still", "other"]
VolumeL = Annotated[float, Field(gt=0, le=1_000_000, allow_inf_nan=False)]
HeatLossWPerK = Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False)]

router = APIRouter(prefix="/vessels", tags=["vessels"], dependencies=[needs(Role.WATCH)])


class VesselFields(Entry):
    """What is said of a vessel."""

    name: Text
    kind: Kind
    volume_l: VolumeL | None = None
    material: Text | None = None
    heat_loss_w_per_k: HeatLossWPerK | None = None


class NewVessel(VesselFields, NewEntry):
    """A vessel to add."""


class VesselChange(VesselFields):
    """A vessel as it shall stand."""

    version: Version


class VesselRecord(Record):
    """A vessel as it stands."""

    name: str
    kind: Kind
    volume_l: float | None
    material: str | None
    heat_loss_w_per_k: float | None


@router.get("")
def listed(house: Housed) -> list[VesselRecord]:
    """Return all vessels."""
    return [_record(one) for one in facts.vessels(house.reader.engine)]


@router.post("", status_code=201, dependencies=[needs(Role.OPERATE)], responses=declared(409))
def add(house: Housed, asking: Asking, body: NewVessel) -> VesselRecord:
    """Add a vessel."""
    fields = body.model_dump(exclude={"id"})
    made = Vessel.first(id=body.id, **fields, **entered(house, asking))
    store(house, made)
    return _record(facts.get(house.engine, Vessel, made.about))


@router.put("/{vessel_id}", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
def change(house: Housed, asking: Asking, vessel_id: UUID, body: VesselChange) -> VesselRecord:
    """Correct what is said of a vessel."""
    old = facts.get(house.engine, Vessel, vessel_id)
    changes = body.model_dump(exclude={"version"})
    return _record(correct(house, asking, old, body.version, changes))


@router.delete(
    "/{vessel_id}",
    status_code=204,
    dependencies=[needs(Role.OPERATE)],
    responses=declared(404, 409),
)
def withdraw(
    house: Housed, asking: Asking, vessel_id: UUID, version: Annotated[Version, Query()]
) -> None:
    """Take a vessel back that was entered by mistake; the record keeps it."""
    old = facts.get(house.engine, Vessel, vessel_id)
    on_it = [one.name for one in facts.places(house.engine) if one.vessel == vessel_id]
    if on_it:
        raise ConflictError(
            f"{old.name} still has the places {', '.join(on_it)}; take those back first."
        )
    correct(house, asking, old, version, {"withdrawn": True})


def _record(fact: Vessel) -> VesselRecord:
    names = VesselRecord.model_fields.keys() - Record.model_fields.keys()
    return VesselRecord.model_validate(standing(fact) | {n: getattr(fact, n) for n in names})
