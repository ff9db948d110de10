"""What is sent to import a past run, and what is answered."""

from typing import Annotated, Final
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.entries import Entry, Text
from api.record.words import Purpose, Reading, Volume

MOST_TEXT: Final = 12_000_000  # characters of a trace
MOST_NOTES: Final = 500_000

Notes = Annotated[str, Field(max_length=MOST_NOTES)]


class NewImport(Entry):
    """A past run: what it was, and its files as text."""

    vessel_id: Annotated[UUID, Field(description="The still.")]
    purpose: Purpose
    batch: Annotated[Text, Field(description="Its name; a new one is begun.")]
    charge_volume_l: Volume | None = None
    charge_abv: Annotated[Reading | None, Field(description="At 20 °C.")] = None
    trace: Annotated[
        str,
        Field(
            max_length=MOST_TEXT,
            description="CSV as `wormtub export` writes it: time, then a column a place of the "
            "still (pot, head, …), room and pressure_hpa; an empty cell is no reading. A time "
            "without an offset is the house's own.",
        ),
    ]
    jars: Annotated[
        Notes | None,
        Field(
            description="CSV: time (when it was full), volume_l, and where they are known "
            "reading_abv, temperature_c, instrument, number, cut, text, smell, from_time."
        ),
    ] = None
    marks: Annotated[
        Notes | None, Field(description="CSV: time, mark, and power_kw, text, smell.")
    ] = None


class ImportedRun(BaseModel):
    """A run as it was imported."""

    run_id: UUID
    batch: str
    vessel: str
    from_at: AwareDatetime
    to_at: AwareDatetime
    period_s: Annotated[int, Field(description="Time between its readings, as a rule.")]
    lines: int
    places: list[str]
    jars: int
    marks: int
    left_out: Annotated[list[str], Field(description="Columns of other vessels.")]
