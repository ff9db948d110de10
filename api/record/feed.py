"""Whether anything of the record changed, and which runs it is about; for the live pages."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

from sqlalchemy import ColumnElement, Engine, Integer, func, literal_column, select
from sqlmodel import Session
from sqlmodel import select as rows_of

from logger.store.failures import file_of, told
from logger.store.record_tables import (
    Batch,
    Jar,
    JarVessel,
    Lot,
    Mark,
    Measure,
    StageEntry,
    StockLock,
    Transfer,
)
from logger.store.tables import Fact, Occupancy, table

RECORD: Final[tuple[type[Fact], ...]] = (
    Mark,
    Jar,
    Occupancy,
    Transfer,
    Measure,
    Lot,
    Batch,
    JarVessel,
    StageEntry,
    StockLock,
)
ROW: Final[ColumnElement[int]] = literal_column(
    "rowid", Integer
)  # SQLite's own number of a row; facts are only ever added
MOST_NAMED: Final = 50


@dataclass(slots=True)
class RecordFeed:
    """How many entries there are; asked again whenever somebody committed."""

    engine: Engine
    counts: list[int] = field(default_factory=list)

    @property
    def version(self) -> int:
        """A number that grows with every entry."""
        return sum(self.counts)

    def look(self) -> list[UUID] | None:
        """Return the runs that changed since the last look; None where nothing did."""
        newest = (
            select(func.coalesce(func.max(ROW), 0)).select_from(table(one)).scalar_subquery()
            for one in RECORD
        )
        with told(file_of(self.engine)), self.engine.connect() as connection:
            counts = [int(one) for one in connection.execute(select(*newest)).one()]
        before, self.counts = self.counts, counts
        if counts == before or not before:
            return None
        return self._runs(before)

    def _runs(self, before: list[int]) -> list[UUID]:
        found: dict[UUID, None] = {}
        with told(file_of(self.engine)), Session(self.engine) as session:
            for kind, count, now in zip(RECORD, before, self.counts, strict=True):
                if count == now or kind not in {Mark, Jar, Occupancy, Transfer}:
                    continue
                new = session.exec(rows_of(kind).where(count < ROW).limit(MOST_NAMED)).all()
                found |= dict.fromkeys(_about(new))
        return list(found)


def _about(new: Iterable[Fact]) -> Iterable[UUID]:
    for one in new:
        if isinstance(one, Mark | Jar):
            yield one.run
        elif isinstance(one, Occupancy):
            yield one.about
        elif isinstance(one, Transfer):
            yield from (end for end in (one.from_lot, one.to_lot) if end is not None)
