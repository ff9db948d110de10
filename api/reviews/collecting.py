"""What came over: strengths, rate and running sums on the run's time axis. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import hypot

from api.record.collected import Basis, Collected
from calc.blending import blend
from logger.store.gauging import Content


@dataclass(frozen=True, slots=True)
class StrengthPoint:
    """A strength that was read: at the middle of its jar, or at the spout."""

    at: datetime
    abv: float
    error_abv: float
    jar: int | None


@dataclass(frozen=True, slots=True)
class RatePoint:
    """How fast a jar filled, from its beginning to its end."""

    from_at: datetime
    to_at: datetime
    ml_min: float
    jar: int


@dataclass(frozen=True, slots=True)
class SumPoint:
    """What had come over at a moment; None from where something is not known."""

    at: datetime
    volume_l: float | None
    pure_alcohol_l: float | None
    is_expected: bool


@dataclass(frozen=True, slots=True)
class Amounts:
    """Several jars together; strength None where one of them is not known."""

    volume_l: float
    pure_alcohol_l: float | None
    pure_alcohol_error_l: float | None
    abv: float | None
    is_expected: bool
    jars: int


def minutes_of(one: Collected) -> float | None:
    """Return how long a jar stood under the spout."""
    if one.ended_at is None:
        return None
    return (one.ended_at - one.jar.effective_at).total_seconds() / 60.0


def rate_ml_min(one: Collected) -> float | None:
    """Return how fast a jar filled; None where its volume or its end is not known."""
    minutes, content = minutes_of(one), one.content
    if not minutes or content is None or content.volume_l is None:
        return None
    return 1000.0 * content.volume_l / minutes


def strengths(jars: Iterable[Collected]) -> list[StrengthPoint]:
    """Give the strengths that were read, each at the middle of its jar."""
    found = []
    for one in jars:
        if one.basis != "read" or one.content is None or one.content.strength is None:
            continue
        end = one.ended_at or one.jar.effective_at
        at = one.jar.effective_at + (end - one.jar.effective_at) / 2
        strength = one.content.strength
        found.append(StrengthPoint(at, strength.abv, strength.error_abv, one.jar.number))
    return found


def rates(jars: Iterable[Collected]) -> list[RatePoint]:
    """Give how fast each jar filled."""
    return [
        RatePoint(one.jar.effective_at, one.ended_at, rate, one.jar.number)
        for one in jars
        if one.ended_at is not None and (rate := rate_ml_min(one)) is not None
    ]


def running(jars: Sequence[Collected]) -> list[SumPoint]:
    """Give what had come over at the beginning and at the end of each jar."""
    if not jars:
        return []
    points = [SumPoint(jars[0].jar.effective_at, 0.0, 0.0, is_expected=False)]
    volume_l: float | None = 0.0
    for one in jars:
        held_l = one.content.volume_l if one.content else None
        volume_l = None if volume_l is None or held_l is None else volume_l + held_l
        if one.ended_at is not None:
            points.append(
                SumPoint(
                    one.ended_at, volume_l, one.running_pure_alcohol_l,
                    is_expected=one.running_is_expected,
                )
            )  # fmt: skip
    return points


def together(parts: Iterable[tuple[Collected, float]]) -> Amounts | None:
    """Put shares of jars together by calc; None where no volume is known of any."""
    known = [(one.content, share, one.basis) for one, share in parts if share > 0.0]
    return _together(known)


def poured_together(contents: Iterable[Content]) -> Amounts | None:
    """Put what was drawn off without jars together by calc."""
    return _together([(one, 1.0, "read") for one in contents])


def _together(parts: Sequence[tuple[Content | None, float, Basis | None]]) -> Amounts | None:
    known = [
        (one, one.volume_l * share)
        for one, share, _ in parts
        if one is not None and one.volume_l is not None
    ]
    if not known:
        return None
    volume_l = sum(volume for _, volume in known)
    expected = any(basis == "expected" for _, _, basis in parts)
    strong = [(one, volume, one.strength.abv) for one, volume in known if one.strength is not None]
    if len(strong) < len(known) or volume_l <= 0.0:
        return Amounts(volume_l, None, None, None, expected, len(known))
    mixed = blend(tuple(one for _, one, _ in strong), tuple(abv for _, _, abv in strong), 20.0)
    error = hypot(*(_error_l(one, volume) for one, volume, _ in strong))
    return Amounts(volume_l, mixed.pure_alcohol_l, error, mixed.abv, expected, len(known))


def _error_l(content: Content, volume_l: float) -> float:
    if not content.volume_l or content.pure_alcohol_error_l is None:
        return 0.0
    return content.pure_alcohol_error_l * volume_l / content.volume_l
