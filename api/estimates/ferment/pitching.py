"""Whether a wash fermented before its yeast was written down: two courses, until it is clear.

Who writes the yeast down hours late leaves a course that cannot explain the heat of those hours.
Beside it goes one whose yeast may begin at any time, as where nobody wrote it down. If that one
explains the last hours before the pitching better by three standard errors, it is said. A heater
would look the same: so it takes the other's place only if the heat was there at the pitching and
goes on beyond it, with no sign of a hand.
"""

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from api.estimates.ferment.course import Course
from api.estimates.ferment.members import capacity_kj_k, heat_w
from api.estimates.ferment.spells import SPELL_H, Spell
from api.estimates.ferment.state import LEAST_SURE
from api.estimates.ground import FermentGround, ProbeGround
from calc.ferment_pace import TOO_HOT_C

SURELY: Final = 3.0**2 / 2.0  # in evidence, which is half the square of standard errors
SETTLES: Final = 9  # spells, after a hand was at work
OVER_H: Final = 3.0  # before the pitching
FITS: Final = 0.5  # evidence that one which is right lacks at a spell, about
GOES_ON_H: Final = 1.5  # after the pitching: yeast that is new shows nothing yet
HEAT_K_H: Final = 0.015  # that would warm the wash by so much is heat


class Pitching:
    """The course of a ferment, and while it may be wanted another that is not bound by pitching."""

    def __init__(
        self,
        ground: FermentGround,
        probes: Mapping[str, ProbeGround],
        spells: Sequence[Spell] = (),
    ) -> None:
        self.course = Course(ground, probes)
        self._other: Course | None = None
        if ground.pitched_slot is not None:
            self._other = Course(replace(ground, pitched_slot=None), probes)
        self._heated = False  # at the pitching
        self._quiet = 0  # spells since a hand was at work, or it was too hot for yeast
        self._evidence: deque[tuple[float, float]] = deque(maxlen=round(OVER_H / SPELL_H) + 1)
        for spell in spells:
            self.take(spell)

    def take(self, spell: Spell) -> None:
        """Take a spell."""
        self.course.take(spell)
        if self._other is not None:
            self._other.take(spell)
            self._judge(self._other)

    def _judge(self, other: Course) -> None:
        course = self.course
        if not course.pitched:
            self._look(other)
            if self._quiet > SETTLES:  # what was said before a hand was at work stands
                course.heat_before = self._explains()
            self._heated = course.heat_before and _heats(other, 0.5)
        elif not course.heat_before:
            self._other = None
        elif course.since_pitched_h > GOES_ON_H:
            self._other = None
            if self._heated and _heats(other, LEAST_SURE):
                self.course, other.heat_before, other.heat_counts = other, True, True

    def _look(self, other: Course) -> None:
        """Keep how well each explains what was read, since nothing but the wash was at work."""
        history = other.history
        alone = bool(history.free) and history.free[-1] and history.wash_c[-1] < TOO_HOT_C
        self._quiet = self._quiet + 1 if alone else 0
        if self._quiet <= SETTLES:
            self._evidence.clear()
        self._evidence.append((self.course.evidence, other.evidence))

    def _explains(self) -> bool:
        """Tell whether over the last hours the other explains it surely better, and well."""
        (course_then, other_then), (course_now, other_now) = self._evidence[0], self._evidence[-1]
        others = other_now - other_then
        fits = others > -FITS * (len(self._evidence) - 1)
        return fits and others - (course_now - course_then) > SURELY


def _heats(course: Course, quantile: float) -> bool:
    """Tell whether a course makes heat, and had nothing else at work on it for hours."""
    least_w = HEAT_K_H * capacity_kj_k(course.members) / 3.6
    sure = float(np.quantile(heat_w(course.members) - least_w, quantile)) > 0.0
    return sure and all(course.history.free[-round(2.0 * GOES_ON_H / SPELL_H) :])
