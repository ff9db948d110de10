"""Whether a ferment is done: two gravities that agree, far enough apart. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Final

# "Flat within 0.001 in 24 h", common practice, no source: the same figures by which a ferment is
# called stuck where it stands well above its expected end.
AGREE_SG: Final = 0.001
APART: Final = timedelta(hours=24)
ABOVE_END_SG: Final = 0.006
# The highest end that is usual, by what the wash is of: common practice, no source.
USUAL_END_SG: Final[Mapping[str, float]] = {"grain": 1.004, "sugar": 0.996}
_ROUNDING: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Gravity:
    """A gravity corrected to 20 °C, and when it was taken."""

    at: datetime
    sg: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether the ferment is done, since when, and why, in a sentence."""

    done: bool
    since: datetime | None
    sentence: str
    stuck: bool = False


def verdict(gravities: Sequence[Gravity], expected_end_sg: float | None = None) -> Verdict:
    """Judge by the newest gravity and the newest that is a day or more older."""
    rising = sorted(gravities, key=lambda one: one.at)
    if not rising:
        return Verdict(done=False, since=None, sentence="No gravity has been entered yet.")
    last = rising[-1]
    earlier = [one for one in rising if last.at - one.at >= APART]
    if not earlier:
        return Verdict(done=False, since=None, sentence=_waiting(last))
    before = earlier[-1]
    between = [one.sg for one in rising if before.at <= one.at <= last.at]
    if max(between) - min(between) > AGREE_SG + _ROUNDING:
        return Verdict(done=False, since=None, sentence=_moving(before, last))
    if expected_end_sg is not None and last.sg > expected_end_sg + ABOVE_END_SG + _ROUNDING:
        return Verdict(
            done=False,
            since=None,
            stuck=True,
            sentence=f"The gravity stands at {last.sg:.4f}, more than {ABOVE_END_SG:g} above the "
            f"{expected_end_sg:.4f} expected: the ferment may be stuck.",
        )
    return Verdict(done=True, since=_since(rising), sentence=_agreeing(before, last))


def _since(rising: Sequence[Gravity]) -> datetime:
    """Find the first gravity of the flat end."""
    last = rising[-1]
    flat = [last]
    for earlier, later in pairwise(reversed(rising)):
        del earlier
        if abs(later.sg - last.sg) > AGREE_SG + _ROUNDING:
            break
        flat.append(later)
    return flat[-1].at


def _hours(span: timedelta) -> str:
    return f"{span / timedelta(hours=1):.0f} h"


def _waiting(last: Gravity) -> str:
    return (
        f"One gravity of {last.sg:.4f} says nothing yet; take another {_hours(APART)} after an "
        f"earlier one: two within {AGREE_SG:g} of each other say it is done."
    )


def _moving(before: Gravity, last: Gravity) -> str:
    return (
        f"The gravity still moves: {before.sg:.4f}, then {last.sg:.4f} after "
        f"{_hours(last.at - before.at)}."
    )


def _agreeing(before: Gravity, last: Gravity) -> str:
    return (
        f"{before.sg:.4f} and {last.sg:.4f}, {_hours(last.at - before.at)} apart, agree within "
        f"{AGREE_SG:g}: the ferment is done."
    )
