"""Finding a probe by hand: warm it, and it is offered when it rises."""

from collections.abc import Mapping
from typing import Annotated, Final
from uuid import UUID

from fastapi import Query
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from api.access import Role, needs
from api.house import House, Housed
from api.layout import Channel, Line
from api.messages import stale_after_s
from api.probes import Known
from api.routing import Router
from logger import warming
from logger.degrees import Degrees, Unit
from logger.store.recent import stretches
from logger.store.tables import TEMPERATURE

HOW: Final = (
    f"Each probe's rise is how far it went, at its warmest in the last {warming.LAST_S} s, beyond "
    f"where its own trend of the {warming.BEFORE_S // 60} minutes before would have taken it; only "
    "good readings count. One is offered where it rose by {rise} or more, at least "
    f"{warming.LEAST_LEAD:g} times as far as the next, and stayed below "
    "{hand}, as a hand does."
)

router = Router(prefix="/warming", tags=["probes"], dependencies=[needs(Role.WATCH)])


class Candidate(BaseModel):
    """How far a probe rose in the last minute."""

    probe_id: str
    name: str | None
    rise_c: Annotated[float, Field(description="Beyond its own trend; may be negative.")]
    from_c: float
    to_c: float
    trend_c_per_min: Annotated[float, Field(description="Before the last minute.")]
    by_hand: Annotated[bool, Field(description="Cool enough to have been warmed by a hand.")]
    place_id: UUID | None
    place: str | None
    vessel: str | None


class Warming(BaseModel):
    """Which probe rose most against its own trend, and how that was judged."""

    offered: Annotated[str | None, Field(description="The probe that stands out; null: none.")]
    says: str
    candidates: Annotated[list[Candidate], Field(description="The most risen first.")]
    how: str


@router.get("", name="warming")
async def read(
    house: Housed,
    *,
    unplaced_only: Annotated[
        bool, Query(description="Look only among the probes that have no place.")
    ] = False,
    temperature_unit: Annotated[
        Unit, Query(description="Of the sentences; numbers stay in °C.")
    ] = "C",
) -> Warming:
    """Return the probe that was warmed in the last minute."""
    lines = {line.channel: line for line in house.board.lines}
    scan, age_s = house.board.latest, house.age_s
    stale = scan is None or age_s is None or age_s > stale_after_s(scan.period_s)
    slot = 0 if stale else house.board.slot
    degrees = Degrees(temperature_unit)
    return await run_in_threadpool(_read, house, slot, lines, degrees, unplaced_only=unplaced_only)


def _read(
    house: House,
    slot: int,
    lines: Mapping[Channel, Line],
    degrees: Degrees,
    *,
    unplaced_only: bool,
) -> Warming:
    how = HOW.format(rise=degrees.most(warming.LEAST_RISE_C), hand=degrees.at(warming.HAND_C, 0))
    if not slot:
        says = "No scan has come lately; see that the logger runs."
        return Warming(offered=None, says=says, candidates=[], how=how)
    end = slot + 1
    read = stretches(house.reader.engine, max(end - warming.LAST_S - warming.BEFORE_S, 0), end)
    watched = {
        key.probe_id: stretch
        for key, stretch in read.items()
        if key.quantity == TEMPERATURE
        and (line := lines.get(Channel.of(key))) is not None
        and not (unplaced_only and line.place_id)
    }
    found = warming.rises(watched, slot)
    offered = warming.chosen(found)
    known = Known.read(house)
    return Warming(
        offered=offered.probe_id if offered else None,
        says=_says(found, offered, degrees),
        candidates=[_candidate(one, known, lines) for one in found],
        how=how,
    )


def _says(found: list[warming.Rise], offered: warming.Rise | None, degrees: Degrees) -> str:
    if offered is not None:
        return (
            f"{offered.probe_id} rose by {degrees.apart(offered.rise_c, 1)} beyond its trend, to "
            f"{degrees.at(offered.to_c, 1)}."
        )
    if not found:
        return "No probe has a good reading in the last minute; see that they are connected."
    hands = [one for one in found if one.by_hand]
    if not hands or hands[0].rise_c < warming.LEAST_RISE_C:
        return "No probe has risen as one in a hand does; hold it for half a minute."
    return "More than one probe has risen; put them down, wait a minute, and warm one alone."


def _candidate(one: warming.Rise, known: Known, lines: Mapping[Channel, Line]) -> Candidate:
    line = lines[Channel(one.probe_id, TEMPERATURE)]
    card = known.cards.get(one.probe_id)
    return Candidate(
        probe_id=one.probe_id,
        name=card.name if card else None,
        rise_c=one.rise_c,
        from_c=one.from_c,
        to_c=one.to_c,
        trend_c_per_min=one.trend_c_per_min,
        by_hand=one.by_hand,
        place_id=UUID(line.place_id) if line.place_id else None,
        place=line.place,
        vessel=line.vessel,
    )
