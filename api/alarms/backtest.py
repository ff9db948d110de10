"""When a rule would have sounded in past runs, by the very evaluation that judges now."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from api.alarms.bodies import BackTest, PastRun
from api.alarms.book import Book
from api.alarms.evaluate import NOTED, Change, Evaluation
from api.alarms.events import Key
from api.alarms.model import Process
from api.alarms.rules import Limits, Rule, Scope
from api.alarms.shipped_estimates import BY_ESTIMATES
from logger.store.scans import ScanReader
from logger.store.tables import Occupancy
from logger.store.types import to_datetime

MOST_RUNS: Final = 6
MOST_HOURS: Final = 100
BEFORE_S: Final = 3600  # shown to the detectors first
AGO: Final = timedelta(days=366)
OF_RECORD: Final = {"fill_too_high", "charge_too_strong", "element_near", "receiver_nearly_full"}
RECORD: Final = "Charge and receiver are known only of the run that is on now."
ESTIMATES: Final = "What is estimated is told only of the run that is on now."
PRESSES: Final = "Whether somebody was at the still is known only of now."
HOUSE: Final = "What this rule watches is not in the past's readings."


@dataclass(frozen=True, slots=True)
class Setting:
    """A rule's limits, and those of condensers that have their own."""

    limits: Limits
    own: Mapping[Key, Limits] = field(default_factory=dict)


@dataclass(slots=True)
class _Way:
    """One way to set the limits, and when it sounded."""

    evaluation: Evaluation
    times: list[datetime] = field(default_factory=list)


def back_test(
    reader: ScanReader,
    now: datetime,
    rule: Rule,
    ways: tuple[Setting, Setting],
    condenser: str | None = None,
) -> BackTest:
    """Judge past runs of the rule's stages as it is set and as it is tried; of one or all."""
    book = Book.read(reader.engine, now)
    not_known = _not_known(rule)
    chosen = () if not_known else tuple(_runs(book, rule, now))
    runs = [_judged(reader, book, one, rule, ways, condenser, now) for one in chosen]
    return BackTest(
        rule=rule.name, runs=runs, scans=sum(one.scans for one in runs), not_known=not_known
    )


def _not_known(rule: Rule) -> str:
    if rule.scope is Scope.SYSTEM:
        return HOUSE
    if rule in BY_ESTIMATES:
        return ESTIMATES
    if rule.name in OF_RECORD:
        return RECORD
    return PRESSES if rule.name.startswith("unattended") else ""


def _runs(book: Book, rule: Rule, now: datetime) -> Iterator[Occupancy]:
    """Choose the newest runs of a rule's stages, up to some number and hours in all."""
    hours = 0.0
    stages = rule.stages
    fitting = [one for one in book.occupancies if stages is None or one.stage in stages]
    for one in sorted(fitting, key=lambda one: one.effective_at, reverse=True)[:MOST_RUNS]:
        if one.effective_at < now - AGO:
            return
        hours += ((one.ended_at or now) - one.effective_at).total_seconds() / 3600.0
        yield one
        if hours > MOST_HOURS:
            return


def _judged(
    reader: ScanReader,
    book: Book,
    run: Occupancy,
    rule: Rule,
    settings: tuple[Setting, Setting],
    condenser: str | None,
    now: datetime,
) -> PastRun:
    first, last = book.slot_of(run.effective_at), book.slot_of(run.ended_at or now)
    ground = book.at(first).ground
    ways = [
        _Way(Evaluation(ground, {rule.name: rule}, {rule.name: one.limits}, own=one.own))
        for one in settings
    ]
    scans = 0
    standing = book.at(first - BEFORE_S)
    for scan in reader.scans(first - BEFORE_S, last + 1, imported=True):
        at_us = book.epochs.utc_us(scan.slot)
        if standing.until_us is not None and at_us >= standing.until_us:
            standing = book.at(scan.slot)
            for way in ways:
                way.evaluation.lay(standing.ground)
        moment = standing.moment(scan)
        for way in ways:
            sounded = [one for one in way.evaluation.see(moment) if _sounds(one, condenser)]
            if sounded and scan.slot >= first:
                way.times.append(to_datetime(at_us))
        scans += scan.slot >= first
    names = {one.about: one.name for one in book.vessels}
    return PastRun(
        occupancy_id=str(run.about),
        batch=run.batch,
        vessel=names.get(run.vessel, ""),
        stage=run.stage,
        began_at=run.effective_at,
        ended_at=run.ended_at,
        scans=scans,
        as_set=ways[0].times,
        as_tried=ways[1].times,
    )


def _sounds(change: Change, condenser: str | None) -> bool:
    if condenser is not None and change.key.subject != condenser:
        return False
    return change.what == NOTED or change.after.process is Process.UNACKNOWLEDGED
