"""Where a lot came from and where it went: everything before it, everything after it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Literal
from uuid import UUID

from fastapi import Query
from pydantic import BaseModel, Field
from sqlalchemy import Engine
from sqlmodel import Session

from api.access import Role, needs
from api.errors import declared
from api.house import Housed
from api.record.transfers import TransferBody, bodies
from api.routing import Router
from logger.errors import NotFoundError
from logger.store.failures import file_of, told
from logger.store.record_tables import Jar, Lot, Transfer
from logger.store.standing import current
from logger.store.tables import Occupancy

Direction = Literal["ancestors", "descendants", "both"]

router = Router(prefix="/graph", tags=["graph"], dependencies=[needs(Role.WATCH)])


@dataclass(frozen=True, slots=True)
class Node:
    """What liquid was in: a lot, a jar or a run."""

    id: UUID
    is_a: Literal["lot", "jar", "run"]
    kind: str
    name: str
    batch: str | None


@dataclass(frozen=True, slots=True)
class Edge:
    """Liquid that went from one to another; a jar is filled by its run without a transfer."""

    from_id: UUID
    to_id: UUID
    transfer: UUID | None


class GraphBody(BaseModel):
    """Lots, jars and runs, and what passed between them."""

    about: UUID
    nodes: list[Node]
    edges: Annotated[list[Edge], Field(description="transfer is null from a run to its jar.")]
    transfers: list[TransferBody]


@router.get("/{lot_id}", responses=declared(404))
def of_lot(
    house: Housed,
    lot_id: UUID,
    direction: Annotated[Direction, Query()] = "both",
) -> GraphBody:
    """Return everything a lot, a jar or a run came from, or went into, however far."""
    engine = house.reader.engine
    nodes, edges, moves = _all(engine)
    if lot_id not in nodes:
        raise NotFoundError(f"There is no lot, jar or run {lot_id}; load the list of lots again.")
    found = {lot_id}
    if direction != "descendants":
        found |= reached(lot_id, edges, back=True)
    if direction != "ancestors":
        found |= reached(lot_id, edges, back=False)
    kept = [one for one in edges if {one.from_id, one.to_id} <= found]
    named = {one.transfer for one in kept}
    return GraphBody(
        about=lot_id,
        nodes=[nodes[one] for one in nodes if one in found],
        edges=kept,
        transfers=bodies(engine, *(one for one in moves if one.about in named)),
    )


def reached(start: UUID, edges: Iterable[Edge], *, back: bool) -> set[UUID]:
    """Return everything before a node, or after it. A circle, as of feints, is gone round once."""
    beside: dict[UUID, list[UUID]] = {}
    for edge in edges:
        here, there = (edge.to_id, edge.from_id) if back else (edge.from_id, edge.to_id)
        beside.setdefault(here, []).append(there)
    found: set[UUID] = set()
    waiting = [start]
    while waiting:
        for one in beside.get(waiting.pop(), ()):
            if one not in found:
                found.add(one)
                waiting.append(one)
    return found


def _all(engine: Engine) -> tuple[Mapping[UUID, Node], Sequence[Edge], Sequence[Transfer]]:
    with told(file_of(engine)), Session(engine) as session:
        lots, jars = current(session, Lot), current(session, Jar)
        moves = current(session, Transfer)
        runs = current(session, Occupancy)
        session.expunge_all()
    named = {one.about: one for one in runs}
    nodes = {one.about: Node(one.about, "lot", one.kind, one.name, one.batch) for one in lots}
    nodes |= {one.about: _jar(one, named) for one in jars}
    nodes |= {
        one.about: Node(one.about, "run", one.stage, f"{one.batch} ({one.stage})", one.batch)
        for one in runs
    }
    edges = [Edge(one.run, one.about, None) for one in jars]
    edges += [
        Edge(one.from_lot, one.to_lot, one.about)
        for one in moves
        if one.from_lot is not None and one.to_lot is not None
    ]
    return nodes, [one for one in edges if one.from_id in nodes and one.to_id in nodes], moves


def _jar(jar: Jar, runs: Mapping[UUID, Occupancy]) -> Node:
    run = runs.get(jar.run)
    batch = run.batch if run else None
    return Node(jar.about, "jar", jar.cut or "jar", f"jar {jar.number}", batch)
