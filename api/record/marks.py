"""Marks: points on a run's time axis, placed, moved, taken back and brought back."""

import json
from typing import Annotated, Any, Final
from uuid import UUID

from pydantic import AwareDatetime, Field

from api.access import Asking, Role, needs
from api.entries import Entry, NewEntry, entered
from api.errors import declared
from api.house import Housed
from api.record.entering import (
    Change,
    Note,
    SmellWords,
    add,
    change,
    moment,
    newest,
)
from api.record.run_bodies import MarkBody, mark_body
from api.record.taking_back import add_ways_back
from api.record.words import MarkKind, Source
from api.routing import Router
from calc.quantities import POWER
from logger.store.record_tables import Mark

Power = Annotated[float, Field(ge=0, le=POWER.high, allow_inf_nan=False)]

router = Router(tags=["marks"], dependencies=[needs(Role.WATCH)])
OPERATE = [needs(Role.OPERATE)]
REFUSED: Final = "refused"


class MarkFields(Entry):
    """What is said of a mark."""

    at: Annotated[AwareDatetime | None, Field(description="Null: now.")] = None
    power_kw: Power | None = None
    text: Note = ""
    smell: Annotated[SmellWords, Field(default_factory=list)]
    source: Source = "tap"


class NewMark(MarkFields, NewEntry):
    """A mark to place."""

    kind: MarkKind


class MarkChange(MarkFields, Change):
    """A mark as it shall stand; what is left out stays as it is."""

    kind: MarkKind | None = None


@router.post(
    "/runs/{run_id}/marks", status_code=201, dependencies=OPERATE, responses=declared(404, 409)
)
def place(house: Housed, asking: Asking, run_id: UUID, body: NewMark) -> MarkBody:
    """Place a mark on a run; one that was proposed and refused is kept, and never stands."""
    columns = entered(house, asking, moment(house, body.at)) | _columns(body, set(_TEXTS))
    made = Mark.first(id=body.id, run=run_id, withdrawn=body.source == REFUSED, **columns)
    return mark_body(add(house, made))


@router.get("/marks/{mark_id}", responses=declared(404))
def one_mark(house: Housed, mark_id: UUID) -> MarkBody:
    """Return a mark, taken back or not."""
    return mark_body(newest(house, Mark, mark_id))


@router.put("/marks/{mark_id}", dependencies=OPERATE, responses=declared(404, 409))
def correct(house: Housed, asking: Asking, mark_id: UUID, body: MarkChange) -> MarkBody:
    """Correct a mark; one taken back is brought back by it."""
    old = newest(house, Mark, mark_id)
    changes = _columns(body, body.model_fields_set) | {"withdrawn": False}
    if changes.get("source", old.source) == REFUSED:
        changes["source"] = "proposal"  # it stands after all
    if body.at is not None:
        changes["effective_at"] = moment(house, body.at)
    return mark_body(change(house, asking, old, body, changes, mark_body))


add_ways_back(
    router, Mark, "/marks/{mark_id}", MarkBody, lambda _, one: mark_body(one),
    back="Take a mark back; the record keeps it.",
    undone="Take the last change of a mark back; undoing that brings it back.",
)  # fmt: skip


_TEXTS = ("power_kw", "text", "smell", "source")


def _columns(body: NewMark | MarkChange, said: set[str]) -> dict[str, Any]:
    found = {name: getattr(body, name) for name in _TEXTS if name in said}
    if body.kind is not None:
        found["kind"] = body.kind
    if "smell" in found:
        found["smell"] = json.dumps(found["smell"], ensure_ascii=False)
    return found
