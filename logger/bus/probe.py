"""One thermometer on the wires: its file, its lane, and what is remembered of it."""

import contextlib
import logging
import os
from collections.abc import Callable
from dataclasses import dataclass
from errno import EISDIR, ENODEV, ENOENT, ENOTDIR, ENXIO
from functools import partial
from pathlib import Path

from logger.bus.discovery import Found
from logger.bus.grading import COUNTS_PER_C, Graded, Memory, grade
from logger.bus.lanes import Lane
from logger.reading import Grade, Reading, SeriesKey

log = logging.getLogger(__name__)

_PAGE = 4096  # the kernel shows at most a page
_TRIES = 3  # of setting a resolution that does not take
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
    supply: str  # "external", "parasite" or "unknown"
    wrote_bits: bool  # its resolution was set: the visit took longer than it will again


class Probe:
    """A known thermometer, present or gone."""

    def __init__(self, found: Found) -> None:
        self.found = found
        self.present = True
        self.supply = "unknown"
        self.lane = Lane(found.probe_id)
        self.grade = Grade.TIMED_OUT
        self.asked_in_sweep = 0
        self._bits_tries = 0
        self._memory = Memory()
        self._series = SeriesKey(found.probe_id, "temperature_c", COUNTS_PER_C)

    def see(self, found: Found | None) -> None:
        """Note where it is now, or that it has gone; one that returns may hold anything."""
        if found is not None and not self.present:
            self.supply, self._bits_tries = "unknown", 0
        self.present = found is not None
        self.found = found or self.found

    def visit(self, bits: int, now_s: float) -> Callable[[], Reply]:
        """Prepare a visit: what to do on its lane, with nothing shared between threads."""
        return partial(
            _visit,
            self.found,
            supply=self.supply,
            bits=bits if self._bits_tries < _TRIES else None,
            believe_85=self._memory.believes_85(now_s),
        )

    def take(self, reply: Reply, at_s: float) -> Reading:
        """Learn from a visit and give its reading."""
        self.supply = reply.supply
        self._bits_tries = self._bits_tries + 1 if reply.wrote_bits else self._bits_tries
        self._memory.learn(reply.graded, at_s)
        return Reading(self._series, reply.graded.grade, reply.graded.count)

    def without_number(self, why: Grade) -> Reading:
        """Give the reading of a sweep in which it was not heard."""
        return Reading(self._series, why, None)

    def note(self, grade_: Grade) -> None:
        """Tell the log when its grade changes, once."""
        if grade_ is not self.grade:
            log.info("probe %s: %s", self.found.probe_id, grade_.name.lower())
        self.grade = grade_


def _visit(found: Found, *, supply: str, bits: int | None, believe_85: bool) -> Reply:
    graded = _read(found, believe_85=believe_85)
    if supply == "unknown" and graded.grade is Grade.OK:
        supply = read_supply(found.home)
    wrote = bits is not None and graded.resolution_bits not in {None, bits}
    if wrote:
        _set_resolution(found.home, bits)
    return Reply(graded, supply, wrote)


def _read(found: Found, *, believe_85: bool) -> Graded:
    try:
        text = read_text(found.home / "w1_slave")
    except OSError as error:
        return Graded(_FAILURES.get(error.errno or 0, Grade.EMPTY))
    return grade(text, found.family, believe_85=believe_85)


def read_text(path: Path) -> bytes:
    """Read a kernel file to its end."""
    handle = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
    try:
        text = b""
        while len(text) <= _PAGE and (more := os.read(handle, _PAGE)):
            text += more
        return text
    finally:
        os.close(handle)


def write_text(path: Path, text: bytes) -> None:
    """Write a kernel file in one go; it is never created."""
    handle = os.open(path, os.O_WRONLY | os.O_CLOEXEC)
    try:
        os.write(handle, text)
    finally:
        os.close(handle)


def read_supply(home: Path) -> str:
    """Ask the part how it is supplied; kernels before 5.8 cannot say."""
    with contextlib.suppress(OSError):
        return {b"1": "external", b"0": "parasite"}.get(
            read_text(home / "ext_power").strip(), "unknown"
        )
    return "unknown"


def _set_resolution(home: Path, bits: int | None) -> None:
    """Set it in the part's working memory; its EEPROM is left alone."""
    try:
        write_text(home / "resolution", b"%d\n" % bits)
    except OSError as error:
        log.warning(
            "The resolution of %s cannot be set to %s bit (%s): it stays as it is.",
            home.name,
            bits,
            error.strerror,
        )
