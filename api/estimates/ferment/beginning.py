"""Whether a ferment ought to have begun: how long yeast may take before any of it shows."""

from math import erfc, log, sqrt
from typing import Final

from api.estimates.ferment.course import Course
from api.estimates.ferment.spells import SPELL_S

# Yeast shows within nine or ten hours as often as not, and within a day in all but one wash in
# thirty; of fifty washes one never begins (common practice, no source).
LAG_H, LAG_SPREAD = 9.5, 0.5  # its median, and the spread of its logarithm
LONGEST_LAG_H: Final = 24.0
NEVER: Final = 0.02
UNSEEN_H: Final = 6.0  # nobody knows what went before a later first reading


def waited_h(course: Course) -> float | None:
    """Give for how long it could have begun; None where its beginning may have gone unread."""
    ground, newest, first_slot = course.ground, course.newest, course.first_read_slot
    if newest is None or first_slot is None:
        return None
    since = ground.from_slot if ground.pitched_slot is None else ground.pitched_slot
    if first_slot - since > UNSEEN_H * 3600.0 + SPELL_S:
        return None
    since = first_slot if ground.pitched_slot is None else since
    return max(newest.end_slot - since, 0) / 3600.0


def overdue(hours: float) -> float:
    """Give how likely a wash that shows nothing after so many hours never begins."""
    if hours <= 0.0:
        return NEVER
    late = 0.5 * erfc(log(hours / LAG_H) / LAG_SPREAD / sqrt(2.0))
    return NEVER / (NEVER + (1.0 - NEVER) * late)
