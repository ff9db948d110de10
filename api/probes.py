"""Probes: what is on the bus, how well each reads, what people call it, and where it sits."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final, TypeVar
from uuid import UUID

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
from api.probe_words import says_of, warnings_of
from api.routing import Router
from logger.errors import ConflictError, NotFoundError, RangeError
from logger.reading import Grade
from logger.store import facts
from logger.store.failures import file_of, told
from logger.store.tables import TEMPERATURE, Calibration, ProbeCard, ProbeSeen, Row, Series
from logger.store.types import to_datetime

BUS_FIELDS: Final = (
    "kind", "master", "resolution_bits", "supply", "likely_copy", "bulk", "first_seen_at",
    "last_seen_at",
)  # fmt: skip
UNKNOWN: Final[Mapping[str, Any]] = dict.fromkeys(BUS_FIELDS) | {
    "kind": "unknown", "master": "", "supply": "unknown", "likely_copy": False, "bulk": False,
}  # fmt: skip
DAY_S: Final = 86_400
R = TypeVar("R", bound=Row)

router = Router(prefix="/probes", tags=["probes"], dependencies=[needs(Role.WATCH)])


class AppliedCalibration(BaseModel):
    """True = slope x measured + offset."""

    id: UUID
    slope: float
    offset: float
    method: str
    effective_at: AwareDatetime


class ReadingHealth(BaseModel):
    """How well one quantity of a probe reads."""

    quantity: str
    unit: str
    grade: Annotated[GradeName | None, Field(description="Of the newest scan; null before any.")]
    last_good_at: AwareDatetime | None
    bad_counts: Annotated[
        dict[str, int], Field(description="Refused readings of the last hour, by grade.")
    ]
    bad_counts_day: Annotated[
        dict[str, int], Field(description="The same of the last day, from the record.")
    ]
    says: Annotated[str, Field(description="How it does, in a sentence, and what to do.")]
    place_id: UUID | None
    place: str | None
    vessel: str | None
    calibration: Annotated[
        AppliedCalibration | None, Field(description="Applied now; null: read as it is.")
    ]


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
    warnings: Annotated[list[str], Field(description="Worth knowing; nothing is refused for it.")]
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
    silent: frozenset[str]  # seen on the bus, and never read
    placed: Mapping[Channel, Line]
    bad_day: Mapping[Channel, Counter[Grade]]
    calibrations: Mapping[Channel, Calibration]

    @classmethod
    def read(cls, house: House, *, counting: bool = False) -> "Known":
        """Read it; counting the day's refusals takes longer."""
        seen = {one.probe_id: one for one in _stored(house, ProbeSeen)}
        series = sorted({Channel(one.probe_id, one.quantity) for one in _stored(house, Series)})
        named = {channel.probe_id for channel in series}
        silent = seen.keys() - named
        return cls(
            seen=seen,
            cards={one.probe_id: one for one in facts.probe_cards(house.reader.engine)},
            channels=[*series, *(Channel(one, TEMPERATURE) for one in sorted(silent))],
            silent=frozenset(silent),
            placed={line.channel: line for line in house.board.layout.placed},
            bad_day=_bad_day(house) if counting else {},
            calibrations={
                Channel(one.probe_id, one.quantity): one
                for one in facts.calibrations(house.reader.engine, house.now)
            },
        )

    @property
    def probe_ids(self) -> list[str]:
        """The probes, by id."""
        return sorted({channel.probe_id for channel in self.channels})

    def check(self, probe_id: str) -> None:
        """Refuse a probe that was never on the bus."""
        if probe_id not in self.probe_ids:
            raise NotFoundError(f"No probe {probe_id} was ever on the bus; see the list of probes.")

    def check_usable(self, probe_id: str) -> None:
        """Refuse a probe that was never on the bus, or has been taken out of use."""
        self.check(probe_id)
        card = self.cards.get(probe_id)
        if card is not None and card.retired:
            raise ConflictError(
                f"{card.name} is retired; take it back into use before it is given a place."
            )

    def check_reads(self, probe_id: str, quantity: str) -> None:
        """Refuse a quantity a probe never reads; of one that was never heard nothing is known."""
        self.check(probe_id)
        reads = [one.quantity for one in self.channels if one.probe_id == probe_id]
        if quantity not in reads and probe_id not in self.silent:
            raise RangeError(
                f"{probe_id} reads {' and '.join(reads)} and never {quantity}; choose what it "
                "reads, or another probe.",
                field="quantity",
            )


@router.get("")
async def listed(house: Housed) -> list[ProbeRecord]:
    """Return every probe that was ever on the bus."""
    healths = house.board.healths()  # the board belongs to the event loop
    known = await run_in_threadpool(Known.read, house, counting=True)
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
    if body.retired and not (card and card.retired):
        _check_idle(house, probe_id)
    if card is not None:
        correct(house, asking, card, body.version, changes)
    elif body.version:
        raise ConflictError(f"{probe_id} has no version {body.version} yet; load it again.")
    else:
        store(house, ProbeCard.first(probe_id=probe_id, **changes, **entered(house, asking)))
    return Known.read(house, counting=True)


def _check_idle(house: House, probe_id: str) -> None:
    """Refuse to retire a probe that sits at a place."""
    names = {one.about: one.name for one in facts.places(house.engine)}
    here = [p for p in facts.placements(house.engine, house.now) if p.probe_id == probe_id]
    if here:
        where = names.get(here[0].place, "a place")
        raise ConflictError(
            f"{probe_id} still sits at {where}; replace it there or end its placement, and retire "
            "it then."
        )


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
        warnings=warnings_of(probe_id, facts_of_bus),
        readings=[_health(house, known, channel, healths.get(channel)) for channel in mine],
        **facts_of_bus,
    )


def _health(
    house: House, known: Known, channel: Channel, health: ChannelHealth | None
) -> ReadingHealth:
    line = known.placed.get(channel)
    good_slot = health.good_slot if health else None
    calibration = known.calibrations.get(channel)
    bad_day = known.bad_day.get(channel, Counter())
    return ReadingHealth(
        quantity=channel.quantity,
        unit=UNITS.get(channel.quantity, ""),
        grade=health.grade.name.lower() if health and health.grade is not None else None,
        last_good_at=None if good_slot is None else to_datetime(house.epochs.utc_us(good_slot)),
        bad_counts=_by_name(health.bad) if health else {},
        bad_counts_day=_by_name(bad_day),
        says=says_of(health, bad_day),
        place_id=UUID(line.place_id) if line and line.place_id else None,
        place=line.place if line else None,
        vessel=line.vessel if line else None,
        calibration=_applied(calibration) if calibration else None,
    )


def _by_name(counts: Counter[Grade]) -> dict[str, int]:
    return {grade.name.lower(): number for grade, number in counts.items()}


def _applied(one: Calibration) -> AppliedCalibration:
    return AppliedCalibration(
        id=one.about,
        slope=one.slope,
        offset=one.offset,
        method=one.method,
        effective_at=one.effective_at,
    )


def _bad_day(house: House) -> dict[Channel, Counter[Grade]]:
    """Count the last day's refused readings, from the record."""
    end = house.board.slot + 1
    counted: dict[Channel, Counter[Grade]] = {}
    for key, counts in house.refusals.between(max(end - DAY_S, 0), end).items():
        counted.setdefault(Channel.of(key), Counter()).update(counts)
    return counted


def _stored(house: House, kind: type[R]) -> Sequence[R]:
    """Read a table of the logger's."""
    engine = house.reader.engine
    with told(file_of(engine)), Session(engine) as session:
        found = session.exec(select(kind)).all()
        session.expunge_all()
        return found
