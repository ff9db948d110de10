"""The one-wire bus: a sweep over all masters at once, over by its deadline whatever hangs."""

import logging
from collections.abc import Callable
from pathlib import Path
from time import monotonic

from logger.bus.discovery import Found, Tree
from logger.bus.inventory import ProbeFacts, facts_of
from logger.bus.lanes import Lanes
from logger.bus.master import Master, MasterSweep, Sweep
from logger.bus.probe import Probe
from logger.reading import Reading

log = logging.getLogger(__name__)

LONGEST_SWEEP_S = 2.0


class OneWireBus:
    """Reads every thermometer under a folder laid out as /sys/bus/w1/devices.

    For one thread at a time. A probe that vanishes stays known, graded GONE, and is read again
    when it returns. One that hangs is TIMED_OUT, and asked nothing until it answers.
    """

    def __init__(
        self, folder: Path, *, bits: int | None = None, now_s: Callable[[], float] = monotonic
    ) -> None:
        self._tree = Tree(folder)
        self._bits = bits
        self._now_s = now_s  # ages what is remembered; deadlines are kept by the real clock
        self._lanes = Lanes()
        self._probes: dict[str, Probe] = {}
        self._masters: dict[str, Master] = {}
        self._sweeps = 0
        self._listed = True
        self._look()

    @property
    def sweep_s(self) -> float:
        """The time the slowest master's last whole sweep took."""
        return max((master.policy.sweep_s for master in self._masters.values()), default=0.0)

    def read_scan(self, *, deadline_s: float) -> tuple[Reading, ...]:
        """Read every known probe; block at most `deadline_s`, and never above 2 s."""
        given_s = min(deadline_s, LONGEST_SWEEP_S)
        ends_at_s = monotonic() + given_s
        self._lanes.begin()
        self._look()
        readings = {probe_id: probe.without_number() for probe_id, probe in self._probes.items()}

        def keep(reading: Reading) -> None:
            readings[reading.series.probe_id] = reading

        self._sweeps += 1
        self._run(Sweep(self._sweeps, given_s, ends_at_s, self._lanes, self._now_s, keep))
        for probe_id, reading in readings.items():
            self._probes[probe_id].note(reading.grade)
        return tuple(readings[probe_id] for probe_id in sorted(readings))

    def facts(self) -> tuple[ProbeFacts, ...]:
        """Tell what is known of every probe so far, without a word on the bus."""
        return tuple(
            facts_of(
                probe.found,
                self._tree.folder,
                resolution_bits=probe.resolution_bits,
                supply=probe.supply,
            )
            for _, probe in sorted(self._probes.items())
        )

    def close(self) -> None:
        """Stop the threads that can be stopped."""
        for probe in self._probes.values():
            probe.lane.close()
        for master in self._masters.values():
            master.lane.close()

    def _run(self, sweep: Sweep) -> None:
        parts = [MasterSweep(master, self._on(master), sweep) for master in self._masters.values()]
        for part in parts:
            part.begin()
        self._lanes.run_until(sweep.ends_at_s)
        for part in parts:
            part.end()

    def _on(self, master: Master) -> list[Probe]:
        return [probe for probe in self._probes.values() if probe.found.master == master.name]

    def _look(self) -> None:
        """Take note of what has come and gone."""
        here = {found.probe_id: found for found in self._found()}
        for probe_id, found in here.items():
            if probe_id not in self._probes:
                self._probes[probe_id] = Probe(found)
            if found.master not in self._masters:
                self._masters[found.master] = Master(self._tree.folder / found.master, self._bits)
        for probe_id, probe in self._probes.items():
            probe.see(here.get(probe_id))

    def _found(self) -> tuple[Found, ...]:
        """List the folder; where it cannot be listed, say so once and find nothing."""
        try:
            found = self._tree.thermometers()
        except OSError as error:
            if self._listed:
                log.warning("%s cannot be read (%s).", self._tree.folder, error.strerror)
            self._listed = False
            return ()
        self._listed = True
        return found
