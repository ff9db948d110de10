"""The books as they stand in the store: movements and gaugings, in pure alcohol, by lot.

A run is a node between what was charged and what came over; a jar is filled from its run. Only
what was measured enters: where a strength was never read, the entry is left out and counted.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from sqlalchemy import Engine
from sqlmodel import Session, col

from api.record.amounts import Amount
from api.record.as_locked import as_locked
from api.record.collected import Collected, collected
from api.record.known_book import KnownBook
from api.record.ledger import Bulk, Gauging, Movement, Step, as_booked, books
from api.record.silent import silent_nodes
from logger.store.failures import file_of, told
from logger.store.gauging import Content
from logger.store.record_rules import RUNS
from logger.store.record_tables import Jar, JarVessel, Lot, Mark, Measure, Transfer
from logger.store.standing import current
from logger.store.tables import Condenser, Occupancy, Place, Vessel

MOMENT: Final = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class BooksRead:
    """Everything the books are kept of, read at one moment."""

    lots: Mapping[UUID, Lot]
    runs: Mapping[UUID, Occupancy]
    vessels: Mapping[UUID, Vessel]
    jars: Mapping[UUID, tuple[Collected, ...]]  # by run
    transfers: Sequence[Transfer]
    measures: Sequence[Measure]
    contents: Mapping[UUID, Content]  # of each transfer and measure
    movements: Sequence[Movement]
    gaugings: Sequence[Gauging]
    books: Mapping[UUID, Sequence[Step]]
    left_out: Sequence[UUID]  # transfers, measures and jars of unknown volume or strength
    plain_stills: frozenset[UUID]  # without reflux and without a column

    @property
    def jar_runs(self) -> dict[UUID, UUID]:
        """Say which run each jar is of."""
        return {one.jar.about: run for run, jars in self.jars.items() for one in jars}

    def name_of(self, node: UUID) -> str:
        """Name a lot, a jar or a run as people do."""
        if node in self.lots:
            return self.lots[node].name
        if node in self.runs:
            return f"{self.runs[node].batch}, {self.runs[node].stage} run"
        number = next(
            (
                one.jar.number
                for jars in self.jars.values()
                for one in jars
                if one.jar.about == node
            ),
            None,
        )
        return f"jar {number}"

    def batch_of(self, node: UUID) -> str | None:
        """Say which batch a lot, a jar or a run goes by."""
        if node in self.lots:
            return self.lots[node].batch
        run = node if node in self.runs else self.jar_runs.get(node)
        return None if run is None or run not in self.runs else self.runs[run].batch

    def batch_of_entry(self, entry: UUID) -> str | None:
        """Say which batch a transfer, a measure or a jar goes by."""
        moved = next((one for one in self.transfers if one.about == entry), None)
        gauged = next((one for one in self.measures if one.about == entry), None)
        if gauged is not None:
            return self.batch_of(gauged.lot)
        if moved is None:
            return self.batch_of(entry)
        ends = [one for one in (moved.from_lot, moved.to_lot) if one is not None]
        return next((name for one in ends if (name := self.batch_of(one))), None)


def read_books(engine: Engine) -> BooksRead:
    """Read everything and write the books up."""
    with told(file_of(engine)), Session(engine) as session:
        made = _read(session)
        session.expunge_all()
    return made


def _read(session: Session) -> BooksRead:
    runs = {one.about: one for one in current(session, Occupancy) if one.stage in RUNS}
    jars = _jars(session, runs)
    transfers, measures = current(session, Transfer), current(session, Measure)
    lots = {one.about: one for one in current(session, Lot)}
    known = (one for row in jars.values() for one in row)
    book = KnownBook(lots, known, transfers, measures, silent_nodes(session))
    contents = {one.id: book.moved(one) for one in transfers}
    for one in measures:
        contents[one.id] = book.held(one.lot, one.effective_at + MOMENT)
    left_out: list[UUID] = []
    movements = [*_moved(transfers, contents, left_out), *_filled(jars, left_out)]
    gaugings = _gauged(measures, contents, left_out)
    made = books(movements, gaugings)
    return BooksRead(
        lots=lots,
        runs=runs,
        vessels={one.about: one for one in current(session, Vessel)},
        jars=jars,
        transfers=transfers,
        measures=measures,
        contents=contents,
        movements=as_booked(movements, made),
        gaugings=gaugings,
        books=made,
        left_out=left_out,
        plain_stills=_plain_stills(session),
    )


def _plain_stills(session: Session) -> frozenset[UUID]:
    stills = {one.about for one in current(session, Vessel, col(Vessel.kind) == "still")}
    reflux = {one.vessel for one in current(session, Condenser) if one.kind == "reflux"}
    columns = {one.vessel for one in current(session, Place) if one.name == "column"}
    return frozenset(stills - reflux - columns)


def _jars(session: Session, runs: Mapping[UUID, Occupancy]) -> dict[UUID, tuple[Collected, ...]]:
    vessels = {one.number: one for one in current(session, JarVessel)}
    by_run: dict[UUID, list[Jar]] = {}
    every = current(session, Jar)
    locked = as_locked(session, every)
    for jar in every:
        by_run.setdefault(jar.run, []).append(jar)
    marks: dict[UUID, list[Mark]] = {}
    for mark in current(session, Mark):
        marks.setdefault(mark.run, []).append(mark)
    return {
        run: tuple(collected(runs[run], jars, marks.get(run, []), vessels, locked.get(run, ())))
        for run, jars in by_run.items()
        if run in runs
    }


def bulk_of(content: Content | None) -> Bulk | None:
    """Take over what is known whole; None where a part is not."""
    if content is None or content.volume_l is None:
        return None
    if content.volume_l == 0.0:
        return Bulk()
    pure_l, error_l = content.pure_alcohol_l, content.pure_alcohol_error_l
    if pure_l is None:
        return None
    return Bulk(content.volume_l, Amount(pure_l, error_l or 0.0))


def _moved(
    transfers: Sequence[Transfer], contents: Mapping[UUID, Content], left_out: list[UUID]
) -> Sequence[Movement]:
    found = []
    for one in transfers:
        bulk = bulk_of(contents[one.id])
        if bulk is None:
            left_out.append(one.about)
            continue
        ends = (one.from_lot, one.to_lot)
        is_all = one.volume_l is None and one.mass_kg is None
        found.append(Movement(one.about, one.effective_at, one.kind, *ends, bulk, is_all))  # type: ignore[arg-type]
    return found


def _filled(jars: Mapping[UUID, tuple[Collected, ...]], left_out: list[UUID]) -> Sequence[Movement]:
    """Fill each jar from its run, at its end; one that is still open is not in the books."""
    found = []
    for run, row in jars.items():
        for one in row:
            if one.ended_at is None:
                continue
            bulk = bulk_of(one.content) if one.enters_the_books else None
            if bulk is None:
                left_out.append(one.jar.about)
                continue
            at: datetime = one.ended_at
            found.append(Movement(one.jar.about, at, "collect", run, one.jar.about, bulk))
    return found


def _gauged(
    measures: Sequence[Measure], contents: Mapping[UUID, Content], left_out: list[UUID]
) -> Sequence[Gauging]:
    found = []
    for one in measures:
        bulk = bulk_of(contents[one.id])
        if bulk is None:
            left_out.append(one.about)
        else:
            found.append(Gauging(one.about, one.effective_at, one.lot, bulk))
    return found
