"""Whether a ferment has stopped: ensembles that go another way, weighed against the first.

An ensemble that follows by small moves takes a ferment that stops for one that ends, however much
sugar that would have had to lose in an hour. So when the wash turns colder than expected, copies
of the ensemble as it was an hour or so before are let stand still from one spell or another on,
and shown the same readings. If one explains them as well as the ensemble does, it is kept. How
likely it is then rests on how far the ferment was before it turned: a ferment far from its end
does not end. From there on each gathers evidence by what it expects of the readings.

A wash of grain has a third way: what the yeast could take at once is used up, and it goes on as
slowly as enzymes set the rest free. Copies of that kind are weighed in the same way, and are the
rarer the more they leave to the enzymes: of half the sugar nobody expects that.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from math import erfc, exp, log, sqrt
from typing import TYPE_CHECKING, Final

import numpy as np

from api.estimates.ferment.cooling import Hand
from api.estimates.ferment.members import LATE_RANGE, Row, done
from api.estimates.ferment.prior import LATE_SHARE
from api.estimates.ferment.spells import Spell
from api.estimates.parts import Parts

if TYPE_CHECKING:
    from api.estimates.ferment.course import Course

BACK: Final = 9  # spells, in which it may have stopped
# One ferment in twenty stops short (common practice, no source), at some hour of its three days;
# three hours are weighed at once.
STOPS: Final = 0.05 * 3.0 / 72.0
NEAR_END: Final = 0.82  # share fermented, from where a heat may fall away within hours
LEAST_END: Final = 2e-4
NARROWEST: Final = 1e-6
# The same for a grain wash whose ready sugar is used up sooner than expected: most come to it. Near
# the end it is as likely as not that more is left for the enzymes than expected.
TAILS_OFF: Final = 0.008
MORE_LEFT: Final = 0.5
ENZYMES_AT_WORK: Final = frozenset({"grain", "other", None})
AS_WELL: Final = 4.0  # evidence by which a standstill may explain the turn worse, and be kept
# And all that counts for it where it explains the turn better: an end within hours would, too, and
# small moves follow that no better.
BETTER: Final = 2.0
HOPELESS: Final = -5.0  # log odds at which another try is worth more
AGAIN_AFTER: Final = 9  # spells
NOT_MORE: Final = 700.0


@dataclass(slots=True)
class Branch:
    """One that went another way, and its log odds but for what each expects from now on."""

    course: "Course"
    odds: float
    own: float  # evidence when they parted
    other: float
    age: int = 0

    def log_odds(self, course: "Course") -> float:
        """Weigh it against the course."""
        return self.odds + (self.course.evidence - self.own) - (course.evidence - self.other)


class Standstill:
    """Keeps what is needed to go back an hour, and the likeliest of each other way."""

    def __init__(self) -> None:
        self._kept: deque[Course] = deque(maxlen=BACK)
        self._followed: deque[tuple[Spell, Hand]] = deque(maxlen=BACK)
        self._stopped: Branch | None = None
        self._tailing: Branch | None = None
        self._parting: Parts[None] | None = None  # copies that are to be tried yet
        self._count = 0

    def keep(self, course: "Course") -> None:
        """Keep the course as it stands before its next spell."""
        for _ in self.parting():
            pass
        self._kept.append(course.copy(self._count))

    def follow(self, course: "Course", spell: Spell, hand: Hand, *, colder: bool) -> None:
        """Show the branches what the course was shown; part anew where the wash turns colder."""
        self._count += 1
        self._followed.append((spell, hand))
        for branch in self._branches():
            branch.age += 1
            branch.course.follow(spell, hand)
        if colder and self._may_part(course):
            self._parting = self._part_both(course)

    def parting(self) -> Parts[None]:
        """Try the copies that are to be tried yet: before the next spell, and one at a time."""
        if self._parting is not None:
            yield from self._parting
            self._parting = None

    def _part_both(self, course: "Course") -> Parts[None]:
        before = self._kept[0]
        ends = _may_end(before)
        stopped = yield from self._part(course, _stop, STOPS / (ends + LEAST_END))
        tails = (TAILS_OFF * _may_be_late(before) + MORE_LEFT * ends) / (ends + LEAST_END)
        grain = course.ground.kind_of_wash in ENZYMES_AT_WORK
        tailing = (yield from self._part(course, _tail_off, tails)) if grain else None
        self._stopped, self._tailing = stopped, tailing

    def shares(self, course: "Course") -> list[tuple[float, "Course"]]:
        """Give how likely each other way is, beside the course and each other."""
        branches = self._branches()
        odds = [exp(min(one.log_odds(course), NOT_MORE)) for one in branches]
        return [
            (own / (1.0 + sum(odds)), one.course) for own, one in zip(odds, branches, strict=True)
        ]

    def _branches(self) -> list[Branch]:
        return [one for one in (self._stopped, self._tailing) if one is not None]

    def _may_part(self, course: "Course") -> bool:
        branch = self._stopped
        if branch is None:
            return True
        return branch.age >= AGAIN_AFTER and branch.log_odds(course) < HOPELESS

    def _part(
        self, course: "Course", turn: Callable[["Course"], None], likely: float
    ) -> Parts[Branch | None]:
        """Let copies go another way from one spell or another on, and take the likeliest."""
        tried = []
        for back in range(1, len(self._kept) + 1):
            tried.append(self._turned(back, turn))
            yield
        best = max(tried, key=lambda one: one.evidence, default=None)
        if best is None or best.evidence < course.evidence - AS_WELL:
            return None
        odds = log(likely) + min(best.evidence - course.evidence, BETTER)
        return Branch(best, odds, best.evidence, course.evidence)

    def _turned(self, back: int, turn: Callable[["Course"], None]) -> "Course":
        other = self._kept[-back].copy(self._count)
        turn(other)
        for spell, hand in list(self._followed)[-back:]:
            other.follow(spell, hand)
        return other


def _stop(course: "Course") -> None:
    course.stop()


def _tail_off(course: "Course") -> None:
    course.tail_off()


def _may_end(before: "Course") -> float:
    """Give how likely the sugar that was there was near its end: what comes late gives little heat.

    A normal tail, as there may be no such member.
    """
    share = before.members[Row.MAIN]
    spread = max(float(share.std()), NARROWEST)  # before anything has fermented all agree
    return 0.5 * erfc((NEAR_END - float(share.mean())) / (spread * sqrt(2.0)))


def _may_be_late(before: "Course") -> float:
    """Give how likely it is that all that is left comes late, beside what usually does.

    A normal law of its logit, as the prior's, with what is not known of how much is left.
    """
    share = np.clip(1.0 - done(before.members), *LATE_RANGE)
    left = np.log(share / (1.0 - share))
    usual, spread = LATE_SHARE
    beyond = max(float(left.mean()) - usual, 0.0)
    return exp(-0.5 * beyond**2 / (spread**2 + float(left.var())))
