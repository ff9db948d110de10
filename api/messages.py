"""The live messages: the state of everything once, and one compact event for every scan."""

from collections.abc import Sequence
from typing import Annotated, Final

import orjson
from pydantic import BaseModel, Field

from api.board import Board, Standing
from api.layout import UNITS
from api.stream import EventId
from logger.reading import Grade
from logger.store.timeline import EpochTable

MILLI_US: Final = 1000
GRADES: Final = ", ".join(grade.name.lower() for grade in Grade)

Value = Annotated[float | None, Field(description='In `unit`; null unless the grade is "ok".')]
GradeName = Annotated[str, Field(description=f"How good the reading is: {GRADES}.")]


class LiveReading(BaseModel):
    """One line of the live page."""

    key: Annotated[str, Field(description="The line's name in the events.")]
    probe_id: str
    quantity: str
    unit: str
    value: Value
    grade: GradeName
    good_ms: Annotated[int | None, Field(description="When the last good reading was taken.")]
    last_good_value: float | None
    trend_per_min: float | None


class PlacedReading(LiveReading):
    """One line of the live page that has a place."""

    id: Annotated[str, Field(description="The place's id.")]
    vessel: str | None
    place: str


class LiveState(BaseModel):
    """Everything the live page shows, as of the newest scan."""

    now_ms: int
    event_id: Annotated[str, Field(description="Follow from here: /api/live/events?after=...")]
    slot: int | None
    scan_ms: int | None
    age_s: Annotated[float | None, Field(description="Since the newest scan, by a steady clock.")]
    period_s: int | None
    stale_after_s: int
    stale: Annotated[bool, Field(description="True where the logger has fallen silent.")]
    places: list[PlacedReading]
    unplaced: list[LiveReading]


def stale_after_s(period_s: int | None) -> int:
    """Return the age from which the newest scan no longer says how things are now."""
    return 3 * (period_s or 1) + 2


def live_state(
    board: Board, epochs: EpochTable, *, now_ms: int, age_s: float | None, event_id: EventId
) -> LiveState:
    """Write down what the board shows."""
    shown = board.standings()
    scan = board.latest
    limit_s = stale_after_s(scan.period_s if scan else None)
    return LiveState(
        now_ms=now_ms,
        event_id=str(event_id),
        slot=scan.slot if scan else None,
        scan_ms=slot_ms(epochs, scan.slot) if scan else None,
        age_s=None if age_s is None else round(age_s, 1),
        period_s=scan.period_s if scan else None,
        stale_after_s=limit_s,
        stale=age_s is None or age_s > limit_s,
        places=[_placed(one, epochs) for one in shown if one.line.place_id],
        unplaced=[_unplaced(one, epochs) for one in shown if not one.line.place_id],
    )


def scan_data(board: Board, epochs: EpochTable, standings: Sequence[Standing]) -> bytes:
    """Write a scan's event: key, value, grade and trend of every line."""
    assert board.latest is not None  # noqa: S101 - a scan has just been applied
    return orjson.dumps(
        {
            "slot": board.latest.slot,
            "scan_ms": slot_ms(epochs, board.latest.slot),
            "period_s": board.latest.period_s,
            "readings": [
                (one.line.key, one.value, one.grade.name.lower(), one.trend_per_min)
                for one in standings
            ],
        }
    )


def slot_ms(epochs: EpochTable, slot: int) -> int:
    """Return the moment a slot stands for, in whole milliseconds UTC."""
    return epochs.utc_us(slot) // MILLI_US


def _placed(one: Standing, epochs: EpochTable) -> PlacedReading:
    where = {"id": one.line.place_id, "vessel": one.line.vessel, "place": one.line.place}
    return PlacedReading.model_validate(_line(one, epochs) | where)


def _unplaced(one: Standing, epochs: EpochTable) -> LiveReading:
    return LiveReading.model_validate(_line(one, epochs))


def _line(one: Standing, epochs: EpochTable) -> dict[str, object]:
    channel = one.line.channel
    return {
        "key": one.line.key,
        "probe_id": channel.probe_id,
        "quantity": channel.quantity,
        "unit": UNITS.get(channel.quantity, ""),
        "value": one.value,
        "grade": one.grade.name.lower(),
        "good_ms": None if one.good_slot is None else slot_ms(epochs, one.good_slot),
        "last_good_value": one.last_good_value,
        "trend_per_min": one.trend_per_min,
    }
