"""Everything reviews of runs are made from, read from the store at once."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache, cached_property, lru_cache, partial
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from api.house import House
from api.record.books_read import BooksRead, read_books
from api.record.entries import strength_in_entry
from api.record.lot_book import LotBook
from api.record.runs_read import RunRead, run_read
from api.reviews.alarms_told import COMING, Spell, spells
from api.reviews.collecting import StrengthPoint
from api.reviews.lines import Laid, Lines, Wanted, read_lines
from api.reviews.moments import places_to_see
from api.reviews.usage import ENERGY, FLOW, POWER_KW
from api.site import stored
from logger.degrees import Unit
from logger.store import facts
from logger.store.alarm_tables import AlarmEvent
from logger.store.failures import file_of, told
from logger.store.gauging import INSTRUMENTS, USUAL, Content
from logger.store.record_tables import Batch, Mark, StageEntry, Transfer
from logger.store.standing import current
from logger.store.tables import Condenser, Occupancy

PRODUCT: Final = ("product", "worm_tub")
METERED: Final = frozenset({ENERGY, POWER_KW, FLOW})
HELD: Final = 8  # runs of a list whose lines are kept: of a batch they are asked for by turns
SPOUT: Final = "spout"  # the entry: a strength read at the spout


@dataclass(frozen=True, slots=True)
class Site:
    """What is known of the house."""

    zone: ZoneInfo
    unit: Unit
    condensers: Sequence[Condenser]
    batches: Mapping[str, Batch]
    owners: Mapping[str, UUID]  # the vessel of each vessel, condenser and place

    @classmethod
    def read(cls, engine: Engine) -> "Site":
        """Read it from the store."""
        site, condensers = stored(engine)[0], facts.condensers(engine)
        owners = {str(one.about): one.about for one in facts.vessels(engine)}
        owners |= {str(one.about): one.vessel for one in condensers}
        owners |= {str(one.about): one.vessel for one in facts.places(engine) if one.vessel}
        return cls(
            ZoneInfo(site.time_zone),
            site.temperature_unit,
            condensers,
            {one.name: one for one in facts.all_current(engine, Batch)},
            owners,
        )


@dataclass(frozen=True)
class Ground:
    """A run with its lines and alarms, what was drawn off without jars, and its house."""

    read: RunRead
    drawn: Sequence[Content]  # collected straight into a lot
    spouts: Callable[[], Sequence[StrengthPoint]]  # when asked: lists of runs do not
    reads: Callable[[], Lines]  # when asked, and of many runs few held: they are megabytes
    overview: Callable[[], Lines]  # of every place, however coarse
    alarms: Sequence[Spell]
    site: Site
    until: datetime  # the run's end, or now where it is still on

    @cached_property
    def spout(self) -> Sequence[StrengthPoint]:
        """Strengths that were read at the spout."""
        return self.spouts()

    @property
    def lines(self) -> Lines:
        """The lines of the run."""
        return self.reads()

    @cached_property
    def is_watched(self) -> bool:
        """Say whether the alarms judged anything of the run; else their silence says nothing."""
        return bool(self.alarms) or self.lines.are_watched or self.overview().are_watched

    @property
    def run(self) -> Occupancy:
        """The run itself."""
        return self.read.run

    @property
    def batch(self) -> Batch | None:
        """The batch it is of."""
        return self.site.batches.get(self.run.batch)

    @property
    def product_condenser(self) -> Condenser | None:
        """The condenser the spirit runs from."""
        mine = (one for one in self.site.condensers if one.vessel == self.run.vessel)
        return next((one for one in mine if one.kind in PRODUCT), None)


def ground(house: House, run_id: UUID, site: Site | None = None) -> Ground:
    """Read a run and all that hangs on it, or raise NotFoundError."""
    engine = house.reader.engine
    read = run_read(engine, run_id)
    until = until_of(read.run, house.now)
    site = site or Site.read(engine)
    lines = cache(lambda: read_lines(house, wanted(read, until)))
    return Ground(
        read=read,
        drawn=_drawn(engine, run_id),
        spouts=partial(_spout, engine, read.run, until),
        reads=lines,
        overview=lines,
        alarms=_alarms_of(engine, read.run, until, site.owners),
        site=site,
        until=until,
    )


def grounds(house: House, runs: Sequence[Occupancy], site: Site) -> list[Ground]:
    """Read many runs with the lines their key numbers need, and which alarms came up."""
    return grounds_with(house, runs, site, read_books(house.reader.engine))


def grounds_with(
    house: House, runs: Sequence[Occupancy], site: Site, books: BooksRead
) -> list[Ground]:
    """Read the same beside books that were read already."""
    engine = house.reader.engine
    marks = _marks(engine)
    stills = {one.about: one for one in facts.vessels(engine)}
    drawn: dict[UUID, list[Content]] = defaultdict(list)
    for one in books.transfers:
        if one.kind == "collect" and one.from_lot in books.runs and one.from_lot is not None:
            drawn[one.from_lot].append(books.contents[one.id])
    charges, came = _charges(engine, runs, books), _Came.read(engine, site.owners)
    lines = _KeyLines(house, runs)
    reads = [
        RunRead(
            run=run,
            still=stills.get(run.vessel),
            marks=marks.get(run.about, []),
            jars=books.jars.get(run.about, ()),
            charge=charges[run.about],
            jar_vessels={},
        )
        for run in runs
    ]
    return [
        Ground(
            read=one,
            drawn=drawn.get(one.run.about, []),
            spouts=partial(_spout, engine, one.run, until),
            reads=lines.of(one, until),
            overview=lines.overview(one, until),
            alarms=came.of(one.run, until),
            site=site,
            until=until,
        )
        for one in reads
        for until in [until_of(one.run, house.now)]
    ]


@dataclass(frozen=True)
class _KeyLines:
    """The lines that runs' key numbers stand on; what lay where is read once for all of them."""

    house: House
    runs: Sequence[Occupancy]

    @cached_property
    def laid(self) -> Laid:
        """What was measured where, from the first of the runs to the last."""
        return Laid.read(
            self.house,
            min(one.effective_at for one in self.runs),
            max(until_of(one, self.house.now) for one in self.runs),
        )

    def of(self, read: RunRead, until: datetime) -> Callable[[], Lines]:
        """Tell how a run's are read: meters, and what shows moments; in the page's own steps."""
        names = METERED | places_to_see(read.marks, read.jars)
        return lambda: self._last_read(wanted(read, until, names))

    @cached_property
    def _last_read(self) -> Callable[[Wanted], Lines]:
        return lru_cache(HELD)(self.laid.lines)

    def overview(self, read: RunRead, until: datetime) -> Callable[[], Lines]:
        """Tell how all lines of a run are read coarsely."""
        return lambda: self.laid.lines(wanted(read, until).coarsely)


def wanted(read: RunRead, until: datetime, names: frozenset[str] | None = None) -> Wanted:
    """Say which lines are a run's."""
    return Wanted(read.still.name if read.still else None, read.run.effective_at, until, names)


def until_of(run: Occupancy, now: datetime) -> datetime:
    """Say until when a run is looked at."""
    return max(min(run.ended_at or now, now), run.effective_at)


def _marks(engine: Engine) -> dict[UUID, list[Mark]]:
    found: dict[UUID, list[Mark]] = defaultdict(list)
    for one in facts.all_current(engine, Mark):
        found[one.run].append(one)
    return found


def _charges(
    engine: Engine, runs: Sequence[Occupancy], books: BooksRead
) -> dict[UUID, Content | None]:
    """Give each run's charge: of one transfer as the books have it, of several as they mix."""
    came: dict[UUID, list[Content]] = {one.about: [] for one in runs}
    for move in books.transfers:
        if move.to_lot in came and move.to_lot is not None:
            came[move.to_lot].append(books.contents[move.id])
    several = [run for run, contents in came.items() if len(contents) > 1]
    found = {run: contents[0] if contents else None for run, contents in came.items()}
    with told(file_of(engine)), Session(engine) as session:
        book = LotBook(session)
        return found | {run: book.charge(run) for run in several}


def _drawn(engine: Engine, run: UUID) -> list[Content]:
    with told(file_of(engine)), Session(engine) as session:
        moves = current(
            session, Transfer, col(Transfer.from_lot) == run, col(Transfer.kind) == "collect"
        )
        book = LotBook(session)
        return [book.moved(one) for one in moves]


def _spout(engine: Engine, run: Occupancy, until: datetime) -> list[StrengthPoint]:
    found = facts.all_current(
        engine,
        StageEntry,
        col(StageEntry.kind) == SPOUT,
        col(StageEntry.vessel) == run.vessel,
        col(StageEntry.effective_at) >= run.effective_at,
        col(StageEntry.effective_at) <= until,
    )
    read = ((one.effective_at, strength_in_entry(one)) for one in found)
    error_abv = INSTRUMENTS[USUAL].error_abv
    return [StrengthPoint(at, abv, error_abv, None) for at, abv in read if abv is not None]


def _alarms_of(
    engine: Engine, run: Occupancy, until: datetime, owners: Mapping[str, UUID]
) -> list[Spell]:
    """Read the alarms that came up in a run, but for those at other vessels."""
    chosen = (
        select(AlarmEvent)
        .where(col(AlarmEvent.at) >= run.effective_at, col(AlarmEvent.at) <= until)
        .order_by(col(AlarmEvent.number))
    )
    with told(file_of(engine)), Session(engine) as session:
        found = session.exec(chosen).all()
        session.expunge_all()
    return spells(one for one in found if _is_at(one.subject, run.vessel, owners))


def _is_at(subject: str, vessel: UUID, owners: Mapping[str, UUID]) -> bool:
    """Say whether an alarm's subject is not another vessel's."""
    return owners.get(subject.partition("~")[0], vessel) == vessel


@dataclass(frozen=True, slots=True)
class _Came:
    """All alarms that ever came up, by time."""

    events: Sequence[AlarmEvent]
    times: Sequence[datetime]
    owners: Mapping[str, UUID]

    @classmethod
    def read(cls, engine: Engine, owners: Mapping[str, UUID]) -> "_Came":
        chosen = (
            select(AlarmEvent)
            .where(
                col(AlarmEvent.state_after).in_(COMING),
                col(AlarmEvent.state_before) != col(AlarmEvent.state_after),
            )
            .order_by(col(AlarmEvent.at))
        )
        with told(file_of(engine)), Session(engine) as session:
            found = session.exec(chosen).all()
            session.expunge_all()
        return cls(found, [one.at for one in found], owners)

    def of(self, run: Occupancy, until: datetime) -> list[Spell]:
        first = bisect_left(self.times, run.effective_at)
        last = bisect_right(self.times, until)
        return spells(
            one for one in self.events[first:last] if _is_at(one.subject, run.vessel, self.owners)
        )
