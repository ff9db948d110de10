"""The ferment estimator: an ensemble of ferments that might be this one, told apart by warmth.

State and noise stand in `members`, what is assumed before anything is read in `prior`, the update
in `update`, what tells that a coil is at work in `cooling`, how a standstill and a grain wash's
slow tail are told from a course that goes on in `standstill`, from one that never begins in
`beginning`, and yeast that is written down late in `pitching`. Ten minutes are one step of it. The
front of the ensemble stays an hour behind the newest reading, so that each spell is judged with
the hour that follows; what is told is the front taken on to now.

Tuning, on simulated ferments with seeds below 10,000: the straying's size and memory, the error
of a spell's mean, the shaking after a surprise, how much comes late and how rare a standstill is
beside it, and how much wider or narrower than its members lie a band is (`widths`). Everything else
is a physical prior.
"""

from collections.abc import Iterable, Mapping
from typing import Final

from api.estimates.estimate import Estimate
from api.estimates.estimator import STEP_S, Step
from api.estimates.ferment import words
from api.estimates.ferment.course import Course
from api.estimates.ferment.footing import footing
from api.estimates.ferment.pitching import Pitching
from api.estimates.ferment.spells import Gatherer, Spell
from api.estimates.ferment.state import working_out
from api.estimates.ferment.telling import cannot, told
from api.estimates.ground import FermentGround, ProbeGround
from api.estimates.parts import Parts, finished

SILENT_H: Final = 24.0
UNREAD_H: Final = 0.5
BLOCK_STEPS: Final = 3  # a still works at the first step of its half minutes
FAR_APART_S: Final = 3 * STEP_S  # too far to work in parts


class FermentEstimator:
    """Tells what a ferment's temperatures mean."""

    def __init__(self) -> None:
        self._probes: Mapping[str, ProbeGround] = {}
        self._gatherer = Gatherer()
        self._spells: list[Spell] = []
        self._ground: FermentGround | None = None
        self._pitching: Pitching | None = None
        self._told: tuple[Estimate, ...] | None = None
        self._telling: Parts[tuple[Estimate, ...]] | None = None
        self._is_asked = False
        self._slot = 0  # of the newest step

    def know(self, ground: FermentGround, probes: Mapping[str, ProbeGround]) -> None:
        """Take what the record says now; what it says of the past may have changed."""
        if self._ground == ground and self._probes == dict(probes):
            return
        self._ground, self._probes = ground, dict(probes)
        self._pitching = Pitching(ground, self._probes, self._spells)
        self._told = self._telling = None

    def see(self, steps: Iterable[Step]) -> None:
        """Take steps, newest last."""
        for step in steps:
            is_near = step.slot - self._slot <= FAR_APART_S
            self._slot = step.slot
            ended = tuple(self._gatherer.take(step))
            for spell in ended:
                self._take(spell, in_parts=is_near and self._is_asked)
            if not ended and self._telling is not None and step.slot // STEP_S % BLOCK_STEPS:
                self._go_on(self._telling)

    def tell(self) -> tuple[Estimate, ...]:
        """Return every quantity as of the newest ten minutes; restated in the two that follow."""
        self._is_asked = True
        if self._told is None:
            self._told = finished(self._telling or self._tell())
            self._telling = None
        return self._told

    def _take(self, spell: Spell, *, in_parts: bool) -> None:
        """Take a spell; what is told of it is worked out in parts, or when it is asked for."""
        self._spells.append(spell)
        if self._pitching is not None:
            self._pitching.take(spell)
        if not in_parts or self._telling is not None:
            self._told = None
        self._telling = self._tell() if in_parts else None
        self._is_asked = False

    def _go_on(self, telling: Parts[tuple[Estimate, ...]]) -> None:
        try:
            next(telling)
        except StopIteration as over:
            self._told, self._telling = over.value, None

    def _tell(self) -> Parts[tuple[Estimate, ...]]:
        course = None if self._pitching is None else self._pitching.course
        newest = None if course is None else course.newest
        if course is None or newest is None:
            return cannot(words.NOTHING_YET)
        if newest.impossible_c is not None and newest.wash_c is None:
            return cannot(words.IMPOSSIBLE.format(shown_c=newest.impossible_c))
        if not course.began:
            return cannot(words.NOTHING_YET)
        edge = yield from course.taking_to_edge()
        yield
        stands = footing(course, self._probes)
        if (why := self._why_not(course, newest)) is not None:
            return cannot(why, stands)
        return told((yield from working_out(course, edge, newest.index)), stands)

    def _why_not(self, course: Course, newest: Spell) -> str | None:
        """Say why nothing can be told of what has been read."""
        pitched = course.ground.pitched_slot
        if pitched is not None and pitched >= newest.end_slot:
            return words.NOT_PITCHED
        unread_h = (self._slot - newest.end_slot) / 3600.0
        if unread_h > UNREAD_H:  # what is told would be of before
            return words.UNREAD.format(hours=unread_h)
        if course.reading_age_h > SILENT_H:
            return words.SILENT.format(hours=course.reading_age_h)
        return None
