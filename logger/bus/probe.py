"""One thermometer on the wires: its file, its lane, and what is remembered of it."""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from errno import EISDIR, ENODEV, ENOENT, ENOTDIR, ENXIO
from functools import partial
from math import inf
from time import monotonic

from logger.bus.discovery import Found
from logger.bus.files import Supply, read_supply, read_text, write_resolution
from logger.bus.grading import COUNTS_PER_C, Graded, Memory, grade
from logger.bus.lanes import Lane
from logger.reading import Grade, Reading, SeriesKey

log = logging.getLogger(__name__)

_TRIES = 3  # of setting a resolution that does not take
# Replies that came through whole: on a shorted or noisy line a part cannot say its supply either.
_HEARD = {Grade.OK, Grade.POWER_ON, Grade.LOW_SUPPLY, Grade.OUT_OF_RANGE}
_FAILURES = {
    ENOENT: Grade.GONE,
    ENOTDIR: Grade.GONE,
    ENODEV: Grade.GONE,
    ENXIO: Grade.GONE,
    EISDIR: Grade.TORN,
}


@dataclass(frozen=True, slots=True)
class Reply:
    """What came of one visit to a probe."""

    graded: Graded
    supply: Supply
    bits_tries: int  # spent on setting its resolution; not 0: the visit took longer than most
    took_s: float


class Probe:
    """A known thermometer, present or gone."""

    def __init__(self, found: Found) -> None:
        self.found = found
        self.present = True
        self.supply: Supply = "unknown"
        self.resolution_bits: int | None = None
        self.lane = Lane(found.probe_id)
        self.asked_in_sweep = 0
        self.took_s = inf  # its last visit
        self._grade: Grade | None = None
        self._wanted_bits = 0
        self._bits_tries = 0
        self._memory = Memory()
        self._series = SeriesKey(found.probe_id, "temperature_c", COUNTS_PER_C)

    def see(self, found: Found | None) -> None:
        """Note where it is now, or that it has gone; one that returns may hold anything."""
        if found is not None and not self.present:
            self.supply, self.resolution_bits, self._bits_tries = "unknown", None, 0
        self.present = found is not None
        self.found = found or self.found

    def visit(self, bits: int, now_s: float) -> Callable[[], Reply]:
        """Prepare a visit: what to do on its lane, with nothing shared between threads."""
        if bits != self._wanted_bits or self.resolution_bits == bits:
            self._wanted_bits, self._bits_tries = bits, 0
        return partial(
            _visit,
            self.found,
            supply=self.supply,
            bits=bits if self._bits_tries < _TRIES else None,
            believe_85=self._memory.believes_85(now_s),
        )

    def take(self, reply: Reply, at_s: float) -> Reading:
        """Learn from a visit and give its reading."""
        graded = reply.graded
        self.supply, self.took_s = reply.supply, reply.took_s
        self.resolution_bits = graded.resolution_bits or self.resolution_bits
        self._bits_tries += reply.bits_tries
        self._memory.learn(graded, at_s)
        return Reading(self._series, graded.grade, graded.count)

    def without_number(self) -> Reading:
        """Give the reading of a sweep in which it is not heard."""
        return Reading(self._series, Grade.TIMED_OUT if self.present else Grade.GONE, None)

    def note(self, grade_: Grade) -> None:
        """Tell the log of its grade when that changes."""
        if grade_ is not self._grade:
            log.info("%s: %s", self.found.probe_id, grade_.name.lower().replace("_", " "))
        self._grade = grade_


def _visit(found: Found, *, supply: Supply, bits: int | None, believe_85: bool) -> Reply:
    began_s = monotonic()
    graded = _read(found, believe_85=believe_85)
    if supply == "unknown" and graded.grade in _HEARD:
        supply = read_supply(found.home)
    held, tries = graded.resolution_bits, 0
    if bits is not None and held is not None and held != bits:
        tries = _set_resolution(found, bits)
    return Reply(graded, supply, tries, monotonic() - began_s)


def _read(found: Found, *, believe_85: bool) -> Graded:
    try:
        text = read_text(found.home / "w1_slave")
    except OSError as error:
        return Graded(_FAILURES.get(error.errno or 0, Grade.EMPTY))
    return grade(text, found.family, believe_85=believe_85)


def _set_resolution(found: Found, bits: int) -> int:
    """Give how many of its tries this one spent."""
    try:
        write_resolution(found.home, bits)
    except OSError as error:
        log.warning(
            "%s stays at its resolution: %d bit cannot be set (%s).",
            found.probe_id,
            bits,
            error.strerror,
        )
        return _TRIES
    return 1
