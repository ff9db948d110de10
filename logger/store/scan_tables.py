"""The tables of the scans: recent rows, and the write-once history they are sealed into.

Keys are single integers with the time in front, so that a table grows at its end: a chunk's or
a page's key is `number * SERIES_LIMIT + series`. BLOBs lie in ordinary integer-rowid tables.
"""

from typing import Final

from sqlalchemy import Column, Integer, LargeBinary, Table

from logger.store.tables import Row
from logger.store.types import BigKey

SERIES_LIMIT: Final = 1 << 16  # series are numbered below this

recent = Table(  # one small row a scan, until its 600 slots are sealed
    "recent_scans",
    Row.metadata,
    Column("slot", BigKey, primary_key=True, autoincrement=False),
    Column("period_s", Integer, nullable=False),
    Column("readings", LargeBinary, nullable=False),  # codec.pack_readings
)
blocks = Table(  # which of 600 slots hold a scan, and at what period
    "blocks",
    Row.metadata,
    Column("id", BigKey, primary_key=True, autoincrement=False),  # slot // 600
    Column("periods", LargeBinary, nullable=False),  # codec.encode_periods
)
chunks = Table(  # the readings of one series in one block
    "chunks",
    Row.metadata,
    Column("id", BigKey, primary_key=True, autoincrement=False),
    Column("readings", LargeBinary, nullable=False),  # codec.encode_chunk
)


def _page_table(name: str) -> Table:
    return Table(
        name,
        Row.metadata,
        Column("id", BigKey, primary_key=True, autoincrement=False),
        Column("extremes", LargeBinary, nullable=False),  # codec.encode_extremes
        Column("totals", LargeBinary, nullable=False),  # codec.encode_totals
    )


# summaries of one series: 600 entries of 10 s, 60 s or 600 s each
pages = {step_s: _page_table(f"pages_{step_s}_s") for step_s in (10, 60, 600)}
