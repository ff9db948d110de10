"""What the temperatures of a run propose: its first drop and changes of heat, to be confirmed."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from typing import Final, Literal
from uuid import UUID
from weakref import WeakKeyDictionary

from pydantic import AwareDatetime, BaseModel

from api.access import Role, needs
from api.errors import declared
from api.house import House, Housed
from api.record.runs_read import RunRead, run_read
from api.record.series import lines
from api.record.suggesting import Line, Suggestion, first_drop, power_changes
from api.routing import Router
from logger.store import facts
from logger.store.record_tables import Mark

PLACES: Final = ("pot", "head", "spout", "coolant_out", "coolant_in")
SAME: Final = timedelta(minutes=6)  # a mark so near is the same thing, marked already
REMEMBERED: Final = timedelta(seconds=20)
Seen = tuple[datetime, tuple[Suggestion, ...]]
_KEPT: Final[WeakKeyDictionary[House, dict[UUID, Seen]]] = WeakKeyDictionary()

router = Router(tags=["runs"], dependencies=[needs(Role.WATCH)])


class Proposal(BaseModel):
    """A mark the temperatures speak for; nothing is kept until a person keeps it."""

    kind: Literal["first_drop", "power"]
    at: AwareDatetime
    why: str
    ratio: float | None


@router.get("/runs/{run_id}/proposals", responses=declared(404))
def proposals(house: Housed, run_id: UUID) -> list[Proposal]:
    """Return what is proposed for a run and not marked, nor refused, already."""
    return proposed(house, run_read(house.reader.engine, run_id))


def proposed(house: House, read: RunRead) -> list[Proposal]:
    """Work out the proposals of a run."""
    marks = facts.with_withdrawn(house.reader.engine, Mark, Mark.run == read.run.about)
    return [
        Proposal(kind=one.kind, at=at, why=one.why, ratio=one.ratio)
        for one in _recent(house, read)
        if not _is_marked(one, at := datetime.fromtimestamp(one.at_s, UTC), marks)
    ]


def _recent(house: House, read: RunRead) -> Sequence[Suggestion]:
    """Look at the temperatures, or remember what was seen in them some seconds ago."""
    now, kept = house.now, _KEPT.setdefault(house, {})
    seen_at, found = kept.get(read.run.about, (datetime.min.replace(tzinfo=UTC), ()))
    if not timedelta() <= now - seen_at < REMEMBERED:
        end = min(read.run.ended_at or now, now)
        seen = lines(house, read.run.vessel, PLACES, read.run.effective_at, end)
        found = tuple(_suggested(seen))
        kept[read.run.about] = (now, found)
    return found


def _suggested(seen: dict[str, Line]) -> Iterator[Suggestion]:
    head, pot = seen.get("head"), seen.get("pot")
    for place, name in (("spout", "spout"), ("coolant_out", "coolant's outlet")):
        moving = seen.get(place)
        if head is not None and moving is not None:
            found = first_drop(head, moving, name)
            if found is not None:
                yield found
                break
    nothing = Line.of([])
    yield from power_changes(
        pot or nothing, seen.get("coolant_out", nothing), seen.get("coolant_in")
    )


def _is_marked(one: Suggestion, at: datetime, marks: Sequence[Mark]) -> bool:
    """Whether it is marked already; one that was refused, or taken back, is not made again."""
    same = [mark for mark in marks if mark.kind == one.kind]
    if one.kind == "first_drop" and not all(mark.withdrawn for mark in same):
        return True  # there is but one
    return any(abs(mark.effective_at - at) <= SAME for mark in same)
