"""The ferment estimator: an ensemble of ferments that might be this one, told apart by warmth.

State and noise stand in `members`, what is assumed before anything is read in `prior`, the update
in `update`, what tells that a coil is at work in `cooling`, how a standstill and a grain wash's
slow tail are told from a course that goes on in `standstill`. Ten minutes are one step of it. The
front of the ensemble stays an hour behind the newest reading, so that each spell is judged with
the hour that follows; what is told is the front taken on to now.

Tuning, on simulated ferments with seeds below 10,000: the straying's size and memory, the error
of a spell's mean, the shaking after a surprise. Everything else is a physical prior.
"""

from collections.abc import Iterable, Mapping
from typing import Final

from api.estimates.estimate import Estimate
from api.estimates.estimator import Step
from api.estimates.ferment import words
from api.estimates.ferment.course import Course, run
from api.estimates.ferment.footing import footing
from api.estimates.ferment.spells import Gatherer, Spell
from api.estimates.ferment.state import state_of
from api.estimates.ferment.telling import cannot, told
from api.estimates.ground import FermentGround, ProbeGround

SILENT_H: Final = 24.0


class FermentEstimator:
    """Tells what a ferment's temperatures mean."""

    def __init__(self) -> None:
        self._probes: Mapping[str, ProbeGround] = {}
        self._gatherer = Gatherer()
        self._spells: list[Spell] = []
        self._course: Course | None = None
        self._told: tuple[Estimate, ...] | None = None

    def know(self, ground: FermentGround, probes: Mapping[str, ProbeGround]) -> None:
        """Take what the record says now; what it says of the past may have changed."""
        course = self._course
        if course is not None and course.ground == ground and self._probes == dict(probes):
            return
        self._probes = dict(probes)
        self._course = run(ground, self._probes, self._spells)
        self._told = None

    def see(self, steps: Iterable[Step]) -> None:
        """Take steps, newest last."""
        for step in steps:
            for spell in self._gatherer.take(step):
                self._spells.append(spell)
                if self._course is not None:
                    self._course.take(spell)
                self._told = None

    def tell(self) -> tuple[Estimate, ...]:
        """Return every quantity as of the newest step; restated every ten minutes."""
        if self._told is None:
            self._told = self._tell()
        return self._told

    def _tell(self) -> tuple[Estimate, ...]:
        course = self._course
        newest = None if course is None else course.newest
        if course is None or newest is None:
            return cannot(words.NOTHING_YET)
        if newest.impossible_c is not None and newest.wash_c is None:
            return cannot(words.IMPOSSIBLE.format(shown_c=newest.impossible_c))
        if not course.began:
            return cannot(words.NOTHING_YET)
        edge = course.edge()
        stands = footing(course, self._probes)
        pitched = course.ground.pitched_slot
        if pitched is not None and pitched >= newest.end_slot:
            return cannot(words.NOT_PITCHED, stands)
        if course.reading_age_h > SILENT_H:
            return cannot(words.SILENT.format(hours=course.reading_age_h), stands)
        return told(state_of(course, edge, newest.index), stands)
