"""What a report is made of: the very bodies the pages are sent, and the readings behind them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Final
from uuid import UUID

from sqlalchemy import select

from api.house import House
from api.record.stages import StagesBody, stages
from api.reviews.batches import batch_story
from api.reviews.bodies import RunReviewBody
from api.reviews.bodies_batch import BatchStoryBody
from api.reviews.facts_read import ground
from api.reviews.figures import Figures
from api.reviews.keys import KEYS, numbers
from api.reviews.lines import Lines, belongs
from api.reviews.runs import review
from api.site import stored, zone
from logger.degrees import Degrees
from logger.store import facts
from logger.store.estimate_tables import IssuedEstimate
from logger.store.export import rows
from logger.store.failures import file_of, told
from logger.store.record_tables import Lot
from logger.store.tables import TEMPERATURE, table
from logger.store.timeline import SECOND_US, EpochTable
from logger.store.tracks import Track, tracks
from logger.store.types import to_datetime, to_us

Cell = str | int | float | bool | None
DECIMALS: Final = 4


@dataclass(frozen=True, slots=True)
class RunTold:
    """A run as its page tells it, its key numbers, and its lines for drawing."""

    review: RunReviewBody
    numbers: Mapping[str, float | None]
    lines: Lines
    zone: tzinfo
    degrees: Degrees
    simulated: bool


@dataclass(frozen=True, slots=True)
class BatchTold:
    """A batch as its page tells it, what was entered of its stages, and its runs."""

    story: BatchStoryBody
    stages: StagesBody
    vessels: Mapping[UUID, str]  # names
    lots: Mapping[UUID, str]
    runs: tuple[RunTold, ...]
    zone: tzinfo
    degrees: Degrees
    simulated: bool


def run_told(house: House, run_id: UUID) -> RunTold:
    """Gather a run, or raise NotFoundError."""
    found = ground(house, run_id)
    return RunTold(
        review=review(house, run_id),
        numbers=numbers(Figures(found)),
        lines=found.lines,
        zone=found.site.zone,
        degrees=Degrees(found.site.unit),
        simulated=stored(house.reader.engine)[0].simulated,
    )


def batch_told(house: House, batch_id: UUID) -> BatchTold:
    """Gather a batch with its runs, or raise NotFoundError."""
    story = batch_story(house, batch_id)
    engine = house.reader.engine
    site = stored(engine)[0]
    return BatchTold(
        story=story,
        stages=stages(house, batch_id),
        vessels={one.about: one.name for one in facts.vessels(engine)},
        lots={one.about: one.name for one in facts.all_current(engine, Lot)},
        runs=tuple(run_told(house, one.id) for one in story.runs),
        zone=zone(engine),
        degrees=Degrees(site.temperature_unit),
        simulated=site.simulated,
    )


def key_rows(values: Mapping[str, float | None]) -> Iterator[tuple[str, str, float | None, int]]:
    """Give the key numbers as they are shown: label, unit, value, decimals."""
    for key in KEYS.values():
        yield key.label, key.unit, values.get(key.name), key.decimals


def reading_tracks(house: House, told_run: RunTold) -> list[Track]:
    """Choose the tracks that belong to a run: those of its still, the room and the pressure."""
    run = told_run.review.run
    end = run.ended_at or house.now
    found = tracks(house.reader.engine, to_us(run.started_at), to_us(end) + 1)
    return [one for one in found if belongs(one, run.vessel)]


def readings(
    house: House, told_run: RunTold, wanted: list[Track]
) -> Iterator[tuple[datetime, list[float | None]]]:
    """Read every scan of a run: its time where the house stands, and a value a track."""
    run = told_run.review.run
    until_us = max(to_us(run.ended_at or house.now), to_us(run.started_at)) + SECOND_US
    epochs = EpochTable.load(house.reader.engine)
    for row in rows(house.reader, wanted, epochs, to_us(run.started_at), until_us):
        at = to_datetime(row.utc_us).astimezone(told_run.zone)
        yield at, [row.values[one.column] for one in wanted]


def column_of(track: Track) -> str:
    """Name a track's column so that its unit is in it."""
    place = track.place_name or track.probe_id or ""
    if track.quantity == TEMPERATURE:
        return f"{place}_c" if track.place_name else f"{place}_{TEMPERATURE}"
    return f"{place}_{track.quantity}" if track.place_name not in {None, "room"} else track.quantity


def issued(house: House, run_id: UUID, local: tzinfo) -> Iterator[list[Cell]]:
    """Read what was estimated of a run while it was on, in the order it was told."""
    columns = table(IssuedEstimate).c
    names = ("at", "quantity", "value", "low", "high", "low_68", "high_68", "why", "model_version")
    chosen = (
        select(*(columns[name] for name in names))
        .where(columns.run == run_id)
        .order_by(columns.number)
    )
    engine = house.reader.engine
    with told(file_of(engine)), engine.connect() as connection:
        for at, *rest in connection.execute(chosen):
            yield [at.astimezone(local).isoformat(timespec="seconds"), *rest]
