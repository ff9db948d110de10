"""Measures: a lot as it was found to be, corrected to 20 °C."""

from typing import Any
from uuid import UUID

from pydantic import AwareDatetime
from sqlmodel import col

from api.access import Asking, Role, needs
from api.entries import NewEntry, entered
from api.errors import declared
from api.house import Housed
from api.record.entering import (
    Change,
    Entered,
    add,
    change,
    moment,
    newest,
)
from api.record.run_bodies import ContentBody, content_body, entry
from api.record.taking_back import add_ways_back
from api.record.words import GAUGED, GaugedFields, InstrumentName
from api.routing import Router
from logger.errors import RangeError
from logger.store import facts
from logger.store.gauging import content_of
from logger.store.record_tables import Measure

router = Router(tags=["measures"], dependencies=[needs(Role.WATCH)])
OPERATE = [needs(Role.OPERATE)]


class NewMeasureFields(GaugedFields):
    """What was measured of a lot."""


class NewMeasure(NewMeasureFields, NewEntry):
    """A measurement of a lot."""

    at: AwareDatetime | None = None


class MeasureChange(NewMeasureFields, Change):
    """A measurement as it shall stand; what is left out stays as it is."""

    at: AwareDatetime | None = None


class MeasureBody(Entered):
    """A measurement: as it was read, and what that is at 20 °C."""

    lot_id: UUID
    at: AwareDatetime
    volume_l: float | None
    volume_temperature_c: float | None
    volume_error_l: float | None
    mass_kg: float | None
    reading_abv: float | None
    temperature_c: float | None
    instrument: InstrumentName | None
    reading_error_abv: float | None
    at_20_c: ContentBody | None


@router.get("/lots/{lot_id}/measures", responses=declared(404))
def listed(house: Housed, lot_id: UUID) -> list[MeasureBody]:
    """Return what was measured of a lot, the oldest first."""
    found = facts.all_current(house.reader.engine, Measure, col(Measure.lot) == lot_id)
    return [measure_body(one) for one in found]


@router.post(
    "/lots/{lot_id}/measures", status_code=201, dependencies=OPERATE, responses=declared(404, 409)
)
def measure(house: Housed, asking: Asking, lot_id: UUID, body: NewMeasure) -> MeasureBody:
    """Enter what was measured of a lot."""
    columns = entered(house, asking, moment(house, body.at)) | measure_columns(body)
    return measure_body(add(house, Measure.first(id=body.id, lot=lot_id, **columns)))


@router.put("/measures/{measure_id}", dependencies=OPERATE, responses=declared(404, 409))
def correct(house: Housed, asking: Asking, measure_id: UUID, body: MeasureChange) -> MeasureBody:
    """Correct a measurement."""
    old = newest(house, Measure, measure_id)
    said = {name: getattr(body, name) for name in GAUGED if name in body.model_fields_set}
    changes: dict[str, Any] = said | {"withdrawn": False}
    if body.at is not None:
        changes["effective_at"] = moment(house, body.at)
    return measure_body(change(house, asking, old, body, changes, measure_body))


def measure_columns(body: GaugedFields) -> dict[str, Any]:
    """Return the columns of a measurement, which must have measured something."""
    if body.volume_l is None and body.mass_kg is None and body.reading_abv is None:
        raise RangeError(
            "Nothing was measured; give volume_l, mass_kg or reading_abv.", field="volume_l"
        )
    return {name: getattr(body, name) for name in GAUGED}


def measure_body(one: Measure) -> MeasureBody:
    """Show a measurement."""
    found = content_of(one)
    return MeasureBody(
        **entry(one),
        lot_id=one.lot,
        at=one.effective_at,
        **{name: getattr(one, name) for name in GAUGED},
        at_20_c=content_body(found) if found else None,
    )


add_ways_back(
    router, Measure, "/measures/{measure_id}", MeasureBody, lambda _, one: measure_body(one),
    back="Take a measurement back.",
    undone="Take the last change of a measurement back; undoing that brings it back.",
)  # fmt: skip
