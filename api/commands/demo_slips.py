"""What the demonstration's crew put right of a spirit run: nobody presses everything in time."""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Final

from api.commands.demo_reading import Told
from logger.store.record_tables import Jar, Mark
from logger.store.tables import Fact, Occupancy

NOTED_AFTER: Final = timedelta(minutes=25)
PRESSED_LATE: Final = timedelta(minutes=4)
AGAIN: Final = "Tasted again when it was cool: cardboard."


def of_a_run(told: Told, run: Occupancy, jars: Sequence[Jar]) -> Iterator[Fact]:
    """Give a note, its time put right, a mark that was taken back, and a jar classed anew."""
    hearts = next((one for one in jars if one.cut == "hearts"), None)
    if hearts is None:
        return
    at = hearts.effective_at + NOTED_AFTER
    note = told.first(
        Mark, at + PRESSED_LATE, run=run.about, kind="note", smell='["rye bread", "honey"]',
        text="Clearest of all; keep some for comparison.",
    )  # fmt: skip
    yield note
    yield told.corrected(note, effective_at=at)
    slip = told.first(Mark, at + timedelta(minutes=9), run=run.about, kind="tails")
    yield slip
    yield told.corrected(slip, withdrawn=True)
    tails = next((one for one in jars if one.cut == "tails"), None)
    if tails is not None:
        yield told.corrected(tails, text=AGAIN)
