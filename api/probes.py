"""Probes: what is on the bus, how well each reads, what people call it, and where it sits."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final, TypeVar
from uuid import UUID

from fastapi import APIRouter
from pydantic import AwareDatetime, BaseModel, Field
from sqlmodel import Session, select
from starlette.concurrency import run_in_threadpool

from api.access import Asking, Role, Visitor, needs
from api.board import ChannelHealth
from api.entries import Entry, ProbeId, Text, Version, correct, entered, store
from api.errors import declared
from api.house import House, Housed
from api.layout import UNITS, Channel, Line
from api.messages import GradeName
from logger.errors import ConflictError, NotFoundError
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.tables import TEMPERATURE, ProbeCard, ProbeSeen, Row, Series
from logger.store.types import to_datetime

BUS_FIELDS: Final = (
    "kind", "master", "resolution_bits", "supply", "likely_copy", "bulk", "first_seen_at",
    "last_seen_at",
)  # fmt: skip
UNKNOWN: Final[Mapping[str, Any]] = dict.fromkeys(BUS_FIELDS) | {
    "kind": "unknown", "master": "", "supply": "unknown", "likely_copy": False, "bulk": False,
}  # fmt: skip
R = TypeVar("R", bound=Row)

router = APIRouter(prefix="/probes", tags=["probes"], dependencies=[needs(Role.WATCH)])


class ReadingHealth(BaseModel):
    """How well one quantity of a probe reads."""

    quantity: str
    unit: str
    grade: Annotated[GradeName | None, Field(description="Of the newest scan; null before any.")]
    last_good_at: AwareDatetime | None
    bad_counts: Annotated[
        dict[str, int], Field(description="Refused readings of the last hour, by grade.")
    ]
    place_id: UUID | None
    place: str | None
    vessel: str | None


class ProbeRecord(BaseModel):
    """A probe as the bus and people know it; `version` is 0 until somebody names it."""

    id: str
    name: str | None
    retired: bool
    version: int
    kind: str
    master: str
    resolution_bits: int | None
    supply: str
    likely_copy: bool
    bulk: bool
    first_seen_at: AwareDatetime | None
    last_seen_at: AwareDatetime | None
    readings: list[ReadingHealth]


class ProbeChange(Entry):
    """What people call a probe, and whether it has been taken out of use."""

    name: Text
    retired: bool = False
    version: Version


@dataclass(frozen=True, slots=True)
class Known:
    """Everything the store knows of the probes, read at once."""

    seen: Mapping[str, ProbeSeen]
    cards: Mapping[str, ProbeCard]
    channels: Sequence[Channel]
    placed: Mapping[Channel, Line]

    @classmethod
    def read(cls, house: House) -> "Known":
        """Read it."""
        seen = {one.probe_id: one for one in _stored(house, ProbeSeen)}
        series = sorted({Channel(one.probe_id, one.quantity) for one in _stored(house, Series)})
        named = {channel.probe_id for channel in series}
        silent = [Channel(probe_id, TEMPERATURE) for probe_id in sorted(seen.keys() - named)]
        return cls(
            seen=seen,
            cards={one.probe_id: one for one in facts.probe_cards(house.reader.engine)},
            channels=[*series, *silent],
            placed={line.channel: line for line in house.board.layout.placed},
        )

    @property
    def probe_ids(self) -> list[str]:
        """The probes, by id."""
        return sorted({channel.probe_id for channel in self.channels})

    def check(self, probe_id: str) -> None:
        """Refuse a probe that was never on the bus."""
        if probe_id not in self.probe_ids:
            raise NotFoundError(f"No probe {probe_id} was ever on the bus; see the list of probes.")


@router.get("")
async def listed(house: Housed) -> list[ProbeRecord]:
    """Return every probe that was ever on the bus."""
    healths = house.board.healths()  # the board belongs to the event loop
    known = await run_in_threadpool(Known.read, house)
    return [_record(house, known, healths, probe_id) for probe_id in known.probe_ids]


@router.put("/{probe_id}", dependencies=[needs(Role.OPERATE)], responses=declared(404, 409))
async def change(
    house: Housed, asking: Asking, probe_id: ProbeId, body: ProbeChange
) -> ProbeRecord:
    """Name a probe, or take it out of use; its history stays."""
    healths = house.board.healths()
    known = await run_in_threadpool(_changed, house, asking, probe_id, body)
    return _record(house, known, healths, probe_id)


def _changed(house: House, asking: Visitor, probe_id: str, body: ProbeChange) -> Known:
    known = Known.read(house)
    known.check(probe_id)
    card, changes = known.cards.get(probe_id), body.model_dump(exclude={"version"})
    if card is not None:
        correct(house, asking, card, body.version, changes)
    elif body.version:
        raise ConflictError(f"{probe_id} has no version {body.version} yet; load it again.")
    else:
        store(house, ProbeCard.first(probe_id=probe_id, **changes, **entered(house, asking)))
    return Known.read(house)


def _record(
    house: House, known: Known, healths: Mapping[Channel, ChannelHealth], probe_id: str
) -> ProbeRecord:
    seen, card = known.seen.get(probe_id), known.cards.get(probe_id)
    mine = [channel for channel in known.channels if channel.probe_id == probe_id]
    facts_of_bus = {name: getattr(seen, name) for name in BUS_FIELDS} if seen else UNKNOWN
    return ProbeRecord(
        id=probe_id,
        name=card.name if card else None,
        retired=card.retired if card else False,
        version=card.version if card else 0,
        readings=[_health(house, known, channel, healths.get(channel)) for channel in mine],
        **facts_of_bus,
    )


def _health(
    house: House, known: Known, channel: Channel, health: ChannelHealth | None
) -> ReadingHealth:
    line = known.placed.get(channel)
    good_slot = health.good_slot if health else None
    return ReadingHealth(
        quantity=channel.quantity,
        unit=UNITS.get(channel.quantity, ""),
        grade=health.grade.name.lower() if health and health.grade is not None else None,
        last_good_at=None if good_slot is None else to_datetime(house.epochs.utc_us(good_slot)),
        bad_counts={g.name.lower(): n for g, n in health.bad.items()} if health else {},
        place_id=UUID(line.place_id) if line and line.place_id else None,
        place=line.place if line else None,
        vessel=line.vessel if line else None,
    )


def _stored(house: House, kind: type[R]) -> Sequence[R]:
    """Read a table of the logger's."""
    engine = house.reader.engine
    with told(file_of(engine)), Session(engine) as session:
        found = session.exec(select(kind)).all()
        session.expunge_all()
        return found
