"""Vessels: what stands in the stillhouse."""

from typing import Annotated, Literal, Self
from uuid import UUID

from fastapi import Query
from pydantic import BeforeValidator, Field, model_validator

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
    store,
)
from api.errors import declared
from api.house import House, Housed
from api.routing import Router
from calc.materials import Material
from calc.quantities import POWER
from logger.errors import ConflictError
from logger.store import facts
from logger.store.tables import Vessel

Kind = Literal["mash_tun", "fermenter", "still", "tank", "cask", "other"]
HeatSource = Literal["element", "flame", "steam", "none"]
VesselMaterial = Literal[Material, "glass", "other"]


def _size(given: object) -> object:
    if given is None:
        raise ValueError("A vessel has a size; give its volume_l in litres.")
    return given


VolumeL = Annotated[float, Field(gt=0, le=1_000_000, allow_inf_nan=False), BeforeValidator(_size)]
HeatLossWPerK = Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False)]
PowerKw = Annotated[float, Field(ge=POWER.low, le=POWER.high, allow_inf_nan=False)]
CoverL = Annotated[float, Field(gt=0, le=1_000_000, allow_inf_nan=False)]

router = Router(prefix="/vessels", tags=["vessels"], dependencies=[needs(Role.WATCH)])


class VesselFields(Entry):
    """What is said of a vessel; a still's size is its pot's."""

    name: Text
    kind: Kind
    volume_l: VolumeL
    material: VesselMaterial | None = None
    insulation: Annotated[Text | None, Field(description="In words: 30 mm of felt.")] = None
    heat_loss_w_per_k: HeatLossWPerK | None = None
    heat_source: HeatSource = "none"
    power_kw: PowerKw | None = None
    element_cover_l: Annotated[
        CoverL | None, Field(description="The least volume that covers the element.")
    ] = None

    @model_validator(mode="after")
    def _heat_fits(self) -> Self:
        if self.power_kw is not None and self.heat_source == "none":
            raise ValueError("power_kw is given without a heat; choose the heat_source it is of.")
        if self.element_cover_l is None:
            return self
        if self.heat_source != "element":
            raise ValueError("element_cover_l is of an element; leave it out, or choose element.")
        if self.element_cover_l >= self.volume_l:
            raise ValueError(
                f"{self.element_cover_l:g} L to cover the element do not fit in a vessel of "
                f"{self.volume_l:g} L; correct element_cover_l or volume_l."
            )
        return self


class NewVessel(VesselFields, NewEntry):
    """A vessel to add."""


class VesselChange(VesselFields):
    """A vessel as it shall stand."""

    version: Version


class VesselRecord(Record):
    """A vessel as it stands; one entered long ago may have no size."""

    name: str
    kind: Kind
    volume_l: float | None
    material: str | None
    insulation: str | None
    heat_loss_w_per_k: float | None
    heat_source: HeatSource
    power_kw: float | None
    element_cover_l: float | None


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
    for what, names in _on_it(house, vessel_id).items():
        if names:
            raise ConflictError(
                f"{old.name} still has the {what} {', '.join(names)}; take those back first."
            )
    correct(house, asking, old, version, {"withdrawn": True})


def _on_it(house: House, vessel_id: UUID) -> dict[str, list[str]]:
    """Name what hangs on a vessel."""
    engine = house.engine
    return {
        "places": [one.name for one in facts.places(engine) if one.vessel == vessel_id],
        "condensers": [one.name for one in facts.condensers(engine) if one.vessel == vessel_id],
        "batches": [one.batch for one in facts.occupancies(engine) if one.vessel == vessel_id],
    }


def _record(fact: Vessel) -> VesselRecord:
    return VesselRecord.model_validate(columns_of(fact, VesselRecord))
