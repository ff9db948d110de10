"""What the history is measured against: the two tables one would write first."""

import time
from datetime import UTC, datetime
from pathlib import Path

import history_data as data
from sqlalchemy import Index, func, insert
from sqlmodel import Field, Session, SQLModel, col, create_engine, select


class WideRow(SQLModel, table=True):
    """One row a scan: the slot, and a column of whole counts for each of eight probes."""

    __tablename__ = "wide_rows"
    slot: int = Field(primary_key=True)
    c0: int
    c1: int
    c2: int
    c3: int
    c4: int
    c5: int
    c6: int
    c7: int


class ReadingRow(SQLModel, table=True):
    """One row a reading: id, probe, ISO time, value."""

    __tablename__ = "reading_rows"
    __table_args__ = (Index("ix_probe_time", "probe", "time"),)
    id: int | None = Field(default=None, primary_key=True)
    probe: str
    time: str
    value: float


COLUMNS = [f"c{n}" for n in range(data.SERIES)]


def build_wide(folder: Path, days: int):
    """Fill the wide table."""
    engine = create_engine(f"sqlite:///{folder / 'wide.db'}")
    SQLModel.metadata.create_all(engine)
    places = ", ".join("?" * (data.SERIES + 1))
    for number in range(days):
        counts = data.day(number)
        slots = range(data.START + number * data.DAY_S, data.START + (number + 1) * data.DAY_S)
        with engine.begin() as connection:
            connection.connection.driver_connection.executemany(
                f"INSERT INTO wide_rows VALUES ({places})",  # noqa: S608
                zip(slots, *counts.tolist(), strict=True),
            )
    return engine


def query_wide(engine, from_slot, to_slot, bucket_s):
    """Ask for the extremes of each bucket and probe."""
    columns = [getattr(WideRow, name) for name in COLUMNS]
    ends = [end(column) for column in columns for end in (func.min, func.max)]
    chosen = select(func.min(WideRow.slot), *ends).where(
        WideRow.slot >= from_slot, WideRow.slot < to_slot
    )
    grouped = chosen.group_by(col(WideRow.slot).op("/")(bucket_s))
    with engine.connect() as connection:
        return connection.execute(grouped).all()


def build_readings(folder: Path, days: int):
    """Fill the table of readings through the models' own insert."""
    engine = create_engine(f"sqlite:///{folder / 'readings.db'}")
    SQLModel.metadata.create_all(engine)
    for number in range(days):
        counts = data.day(number)
        first = data.START + number * data.DAY_S
        for begin in range(0, data.DAY_S, 3600):
            rows = [
                {"probe": key.probe_id, "time": iso(first + at), "value": float(value)}
                for at in range(begin, begin + 3600)
                for key, value in zip(data.KEYS, counts[:, at] / 16, strict=True)
            ]
            with Session(engine) as session:
                session.execute(insert(ReadingRow), rows)
                session.commit()
    return engine


def iso(slot):
    """Write a slot as ISO time."""
    return datetime.fromtimestamp(slot, UTC).isoformat()


def query_readings(engine, from_slot, to_slot, bucket_s):
    """Ask for the extremes of each bucket and probe."""
    bucket = func.unixepoch(ReadingRow.time).op("/")(bucket_s)
    chosen = (
        select(ReadingRow.probe, bucket, func.min(ReadingRow.value), func.max(ReadingRow.value))
        .where(ReadingRow.time >= iso(from_slot), ReadingRow.time < iso(to_slot))
        .group_by(ReadingRow.probe, bucket)
    )
    with Session(engine) as session:
        return session.execute(chosen).all()


def seconds(work, times=1):
    """Take the fastest of some runs."""
    best = float("inf")
    for _ in range(times):
        begin = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begin)
    return best
