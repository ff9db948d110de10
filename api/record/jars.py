"""Jars: the fractions of a run, begun by one press, read when there is time, classed next day."""

import json
from datetime import datetime
from typing import Annotated, Any
from uuid import UUID

from pydantic import AliasChoices, AwareDatetime, Field
from sqlmodel import col

from api.access import Asking, Role, needs
from api.entries import NewEntry, entered
from api.errors import declared
from api.house import House, Housed
from api.record.collected import Collected, plain
from api.record.entering import (
    Change,
    Note,
    SmellWords,
    add,
    change,
    moment,
    newest,
)
from api.record.run_bodies import JarBody, jar_body
from api.record.runs_read import poured, run_read
from api.record.taking_back import add_ways_back
from api.record.words import GAUGED, Cut, GaugedFields, JarNumber
from api.routing import Router
from logger.errors import NotFoundError
from logger.store import facts
from logger.store.record_rules import SHOWS_NO_STRENGTH
from logger.store.record_tables import Jar

router = Router(tags=["jars"], dependencies=[needs(Role.WATCH)])
OPERATE = [needs(Role.OPERATE)]


class JarFields(GaugedFields):
    """What is said of a jar."""

    began_at: Annotated[
        AwareDatetime | None,
        Field(validation_alias=AliasChoices("at", "began_at"), description="Null: now."),
    ] = None
    ended_at: Annotated[
        AwareDatetime | None, Field(description="Null: it ends where the next begins.")
    ] = None
    cut: Cut | None = None
    text: Note = ""
    smell: Annotated[SmellWords, Field(default_factory=list)]


class NewJar(JarFields, NewEntry):
    """The next jar: the one before it ends here."""

    number: Annotated[JarNumber | None, Field(description="Null: the next in order.")] = None


class JarChange(JarFields, Change):
    """A jar as it shall stand; what is left out stays as it is."""

    number: JarNumber | None = None


@router.post(
    "/runs/{run_id}/jars", status_code=201, dependencies=OPERATE, responses=declared(404, 409)
)
def begin(house: Housed, asking: Asking, run_id: UUID, body: NewJar) -> JarBody:
    """Put the next jar under the spout."""
    said = _columns(body, {*GAUGED, *_TEXTS})
    said["ended_at"] = body.ended_at and moment(house, body.ended_at, "ended_at")
    said["number"] = body.number or next_number(house, run_id)
    columns = entered(house, asking, moment(house, body.began_at))
    made = Jar.first(id=body.id, run=run_id, **columns, **said)
    return shown(house, add(house, made))


@router.get("/jars/{jar_id}", responses=declared(404))
def one_jar(house: Housed, jar_id: UUID) -> JarBody:
    """Return a jar, taken back or not."""
    return shown(house, newest(house, Jar, jar_id))


@router.put("/jars/{jar_id}", dependencies=OPERATE, responses=declared(404, 409))
def correct(house: Housed, asking: Asking, jar_id: UUID, body: JarChange) -> JarBody:
    """Correct a jar, read it, or class it; one taken back is brought back by it."""
    old = newest(house, Jar, jar_id)
    changes = _columns(body, body.model_fields_set) | {"withdrawn": False}
    if body.began_at is not None:
        changes["effective_at"] = moment(house, body.began_at, "began_at")
    if "ended_at" in body.model_fields_set:
        changes["ended_at"] = _own_end(house, old, body)
    if body.number is not None:
        changes["number"] = body.number
    return shown(house, change(house, asking, old, body, changes, lambda now: shown(house, now)))


def shown(house: House, jar: Jar) -> JarBody:
    """Show a jar among the others of its run."""
    try:
        read = run_read(house.reader.engine, jar.run)
    except NotFoundError:
        read = None
    for one in read.jars if read else ():
        if one.jar.id == jar.id and read is not None:
            went = poured(house.reader.engine, [jar.about])
            return jar_body(one, read.share_base_l, went)
    if read is not None and read.run.stage in SHOWS_NO_STRENGTH:
        jar = plain(jar)
    return jar_body(
        Collected(jar, jar.ended_at, None, None, None, running_is_expected=False), None, {}
    )


add_ways_back(
    router, Jar, "/jars/{jar_id}", JarBody, shown,
    back="Take a jar back; the record keeps it, and the one before it is open again.",
    undone="Take the last change of a jar back; undoing that brings it back.",
)  # fmt: skip


def next_number(house: House, run_id: UUID) -> int:
    """Return the number after the last jar's."""
    jars = facts.all_current(house.reader.engine, Jar, col(Jar.run) == run_id)
    return jars[-1].number + 1 if jars else 1


_TEXTS = ("cut", "text", "smell")


def _columns(body: JarFields, said: set[str]) -> dict[str, Any]:
    found = {name: getattr(body, name) for name in (*GAUGED, *_TEXTS) if name in said}
    if "smell" in found:
        found["smell"] = json.dumps(found["smell"], ensure_ascii=False)
    return found


def _own_end(house: House, old: Jar, body: JarChange) -> datetime | None:
    """Return an end that was entered; one that follows from the next jar is not stored."""
    if body.ended_at is None:
        return None
    if body.ended_at == shown(house, old).ended_at:
        return old.ended_at
    return moment(house, body.ended_at, "ended_at")
