"""How a service takes up where an earlier one left off: warm, in order, and without a sound.

Under the watch's lock, once.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from sqlalchemy import Engine

from api.alarms import events
from api.alarms.reports import MASH_COOKED, take_report
from logger.reading import Scan
from logger.store.scans import ScanReader

if TYPE_CHECKING:
    from api.alarms.watch import Watch

WARM_UP_S: Final = 3600
OLDEST_BACKLOG_S: Final = 7 * 86_400
BACKLOG_AT_ONCE: Final = 1000  # scans
DOWN_S: Final = 60  # a pause shorter than this is none


class Past:
    """What is stored before a service began, up to the scan it begins at."""

    def __init__(self, watch: "Watch", engine: Engine, reader: ScanReader) -> None:
        self._watch, self._engine, self._reader = watch, engine, reader

    def take_up(self) -> None:
        """Restore all alarms, warm their detectors, and judge what nobody has judged yet."""
        watch = self._watch
        watch.ledger.read()
        watch.begin_from(watch.ledger.states)
        until = watch.slot
        judged = events.judged_slot(self._engine)
        from_slot = until if judged is None else max(judged, until - OLDEST_BACKLOG_S)
        self._warm_up(from_slot)
        watch.evaluation.restore(watch.ledger.states)  # whatever the warm-up made of them
        watch.slot = watch.ledger.kept_slot = from_slot
        if judged is None:  # so that what comes before the first change is a backlog too
            watch.keep([], slot=from_slot)
        was_hot = self._judge(self._reader.scans(from_slot + 1, until + 1))
        self._note_down(judged, until, was_hot=was_hot)
        watch.read_book()  # something may have been entered meanwhile
        watch.pay([])

    def _warm_up(self, from_slot: int) -> None:
        """Show the detectors the last hour; what they would have raised was raised then."""
        watch = self._watch
        for scan in self._reader.scans(from_slot - WARM_UP_S, from_slot + 1):
            watch.stand(scan.slot)
            watch.ask()
            watch.evaluation.see(watch.standing.moment(scan))
        for event in events.reports_since(self._engine, from_slot - OLDEST_BACKLOG_S):
            recent = event.slot >= from_slot - WARM_UP_S or event.what == MASH_COOKED
            if recent and (sight := watch.evaluation.vessels.get(event.subject)) is not None:
                take_report(sight, event.what, event.slot)

    def _judge(self, scans: Iterable[Scan]) -> bool:
        """Judge scans in their order; says whether a still was hot in them."""
        watch = self._watch
        hot, held = watch.any_hot, list[Scan]()
        for scan in scans:
            held.append(scan)
            if len(held) >= BACKLOG_AT_ONCE:
                watch.judge(held, last=False)
                hot, held = hot or watch.any_hot, []
        watch.judge(held, last=False)
        return hot or watch.any_hot

    def _note_down(self, judged: int | None, until: int, *, was_hot: bool) -> None:
        watch = self._watch
        if judged is None or until - judged < DOWN_S or not was_hot:
            return
        system = watch.evaluation.system
        system.down_s = float(until - judged)
        watch.keep(watch.rows(watch.evaluation.see_system(until)))
        system.down_s = None
