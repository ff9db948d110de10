"""One master: how its probes are made to convert together, and how long its sweeps take."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from time import monotonic

from logger.bus.bulk import Bulk
from logger.bus.lanes import Lane, Lanes
from logger.bus.probe import Probe, Reply
from logger.bus.resolution import CONVERSION_S, ResolutionPolicy
from logger.reading import Reading

_VISIT_S = 0.03  # what a read takes besides the conversion, with room


class Master:
    """What is kept of a master from one sweep to the next."""

    def __init__(self, folder: Path, bits: int | None) -> None:
        self.name = folder.name
        self.bulk = Bulk(folder)
        self.lane = Lane(folder.name)
        self.policy = ResolutionPolicy(bits)


@dataclass(frozen=True, slots=True)
class Sweep:
    """What the masters' parts of one sweep share."""

    number: int
    given_s: float
    ends_at_s: float
    lanes: Lanes
    now_s: Callable[[], float]
    keep: Callable[[Reading], None]


class MasterSweep:
    """One master's part of one sweep.

    In bulk: one conversion for all, then every probe's bytes. Without: probes with a supply of
    their own convert side by side; those that draw on the data line hold it while they convert,
    so they are read one after another, the longest unread first, as many as there is time for.
    """

    def __init__(self, master: Master, probes: Sequence[Probe], sweep: Sweep) -> None:
        self._master = master
        self._sweep = sweep
        self._began_s = monotonic()
        self._probes = [probe for probe in probes if probe.present]
        self._alone: list[Probe] = []
        self._left = len(self._idle())
        self._conversions = 1
        self._typical = self._left > 0  # whether its time tells what the next one will take

    def begin(self) -> None:
        """Ask for the conversion in bulk where there is one, else for the readings."""
        master = self._master
        if self._left and not master.lane.busy and master.bulk.offered():
            self._sweep.lanes.ask(master.lane, master.bulk.convert, self._converted)
        else:
            self._read_all(converted=False)

    def end(self) -> None:
        """Learn how long it took."""
        if self._typical:
            took_s = None if self._left else self._ended_s - self._began_s
            self._master.policy.note(took_s, self._sweep.given_s, conversions=self._conversions)

    def _converted(self, confirmed: bool) -> None:  # noqa: FBT001 - the answer to a question
        self._master.bulk.learn(confirmed=confirmed)
        self._read_all(converted=confirmed)

    def _idle(self) -> list[Probe]:
        return [probe for probe in self._probes if not probe.lane.busy]

    def _read_all(self, *, converted: bool) -> None:
        waiting = self._idle()  # again: one that was late may have answered meanwhile
        self._left = len(waiting)
        alone = [p for p in waiting if p.supply == "parasite" and not converted]
        for probe in waiting:
            if probe not in alone:
                self._ask(probe, self._take)
        self._alone = sorted(alone, key=lambda probe: probe.asked_in_sweep)
        self._conversions = max(1, len(alone))
        self._read_next_alone(however_short_the_time=True)

    def _read_next_alone(self, *, however_short_the_time: bool) -> None:
        if not self._alone:
            return
        takes_s = min(CONVERSION_S[self._master.policy.bits] + _VISIT_S, self._alone[0].took_s)
        if however_short_the_time or monotonic() + takes_s <= self._sweep.ends_at_s:
            self._ask(self._alone.pop(0), self._take_alone)

    def _ask(self, probe: Probe, then: Callable[[Probe, Reply], None]) -> None:
        probe.asked_in_sweep = self._sweep.number
        visit = probe.visit(self._master.policy.bits, self._sweep.now_s())
        self._sweep.lanes.ask(probe.lane, visit, partial(then, probe))

    def _take(self, probe: Probe, reply: Reply) -> None:
        self._sweep.keep(probe.take(reply, self._sweep.now_s()))
        self._left -= 1
        self._ended_s = monotonic()
        self._typical = self._typical and not reply.bits_tries

    def _take_alone(self, probe: Probe, reply: Reply) -> None:
        self._take(probe, reply)
        self._read_next_alone(however_short_the_time=False)
