"""One vessel's estimator at its work: what it knows, how far it has seen, what it tells."""

import logging
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from sqlalchemy import Engine

from api.estimates.accounted import accounted_share
from api.estimates.choosing import Hour, estimator_of
from api.estimates.estimate import Estimate
from api.estimates.estimator import Estimator, Step
from api.estimates.facts.held import Ground, Held, Kind
from api.estimates.ground import RunGround
from api.estimates.measured import measured_share
from api.estimates.quantities import QUANTITIES
from api.estimates.steps import StepReader
from logger.errors import StoreError

log = logging.getLogger(__name__)

DAY_S: Final = 86_400
LONGEST_S: Final[dict[Kind, int]] = {"still": 3 * DAY_S, "mash": 3 * DAY_S, "ferment": 35 * DAY_S}
RETRY_S: Final = 600  # of the slots, before one that failed begins anew
FAILED: Final = (
    "The estimate failed, and why is in the service's log; readings and alarms go on. It is tried "
    "again after ten minutes."
)

Maker = Callable[[Held, Hour], Estimator[Ground]]


def maker(held: Held, hour: Hour) -> Estimator[Ground]:
    """Make the estimator that a vessel's stage wants, and what it looks up."""
    if held.kind == "still":
        from api.estimates.warming import warm  # noqa: PLC0415 - out of memory until a still is on

        warm(held.ways.air.at(held.from_slot).hpa)
    return estimator_of(held.kind, held.still, hour)


def beside(ground: Ground, told: Sequence[Estimate], slot: int) -> tuple[Estimate, ...]:
    """Tell what follows from the record, alone and with what was told as of a slot."""
    if not isinstance(ground, RunGround):
        return ()
    return measured_share(ground), accounted_share(ground, told, slot)


class Seat:
    """An estimator that sees what is stored, from its run's beginning on.

    Where it fails, what can be told of its vessel is that it failed; after a while it begins anew.
    """

    def __init__(self, engine: Engine, held: Held, hour: Hour, make: Maker = maker) -> None:
        self._engine, self._hour, self._make = engine, hour, make
        self.held = held
        self.slot = 0  # of the newest step; 0 before the first
        self._end: int | None = None  # every step before this slot has been seen
        self._again_slot: int | None = None  # it failed, and begins anew then
        self._begin()

    def know(self, held: Held) -> bool:
        """Take what the record says now; where more than that differs, begin anew.

        Says whether anything differs.
        """
        same, before, self.held = held.is_seen_as(self.held), self.held, held
        if not same:
            self._begin()
            return True
        news = (held.ground, held.probes) != (before.ground, before.probes)
        if news:
            self._guard(self._learn)
        return news

    def advance(self, end_slot: int) -> bool:
        """See every step before a slot; says whether there were any."""
        if self._again_slot is not None and end_slot >= self._again_slot:
            self._begin()
        if self._again_slot is not None or (self._end is not None and end_slot <= self._end):
            return False
        before, began = self._end, self.slot
        begin = self.held.from_slot if before is None else before
        begin = max(begin, end_slot - LONGEST_S[self.held.kind])
        self._end = end_slot
        self._guard(lambda: self._estimator.see(self._noted(begin, end_slot)))
        return self.slot != began

    def tell(self) -> tuple[Estimate, ...]:
        """Return every quantity as of the newest step, or that it failed."""
        told: list[tuple[Estimate, ...]] = []
        self._guard(lambda: told.append(self._tell()))
        if self._again_slot is None:
            return told[0]
        names = QUANTITIES[self.held.kind]
        return tuple(Estimate(name, None, None, None, FAILED) for name in names)

    def _tell(self) -> tuple[Estimate, ...]:
        estimates = self._estimator.tell()
        return (*estimates, *beside(self.held.ground, estimates, self.slot))

    def _begin(self) -> None:
        self._end, self.slot, self._again_slot = None, 0, None
        self._steps = StepReader(self._engine, self.held.ways)
        self._estimator: Estimator[Ground] = self._make(self.held, self._hour)
        self._guard(self._learn)

    def _learn(self) -> None:
        self._estimator.know(self.held.ground, self.held.probes)

    def _noted(self, begin: int, end_slot: int) -> Iterator[Step]:
        for step in self._steps.read(begin, end_slot):
            self.slot = step.slot
            yield step

    def _guard(self, act: Callable[[], object]) -> None:
        """Let the estimator act unless it has failed; a store that cannot be read is no failure."""
        if self._again_slot is not None:
            return
        try:
            act()
        except StoreError:
            self._again_slot = 0  # seen in part: it begins anew as soon as the store answers
            raise
        except Exception:
            log.exception(
                "The estimates of %s (%s) failed; the others go on.",
                self.held.vessel,
                self.held.stage,
            )
            self._again_slot = (self._end or self.held.from_slot) + RETRY_S
