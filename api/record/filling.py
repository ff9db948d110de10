"""How fast a run comes over, and when the open jar will be full."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import floor, log10
from typing import Final

from api.record.collected import Collected
from calc.contents import contents_by_weight

USUAL_STEP_L: Final = 0.05
STEPS_TO_FULL: Final = 20
JUDGED: Final = 2  # the last jars: the rate changes over a run
STALE: Final = timedelta(hours=2)  # a rate older than that says nothing about now
DENSITY_STRENGTH_ABV: Final = 60.0  # where none is known yet; 10 % vol beside it move it by 2.5 %


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate, and what it was worked out from."""

    ml_min: float
    source: str  # "scale" or "jars"


@dataclass(frozen=True, slots=True)
class Scale:
    """What a scale under the receiver shows, and how fast it grows."""

    mass_kg: float
    growth_kg_min: float | None


def step_l(jar_volume_l: float | None) -> float:
    """Return the step of a stepper for a jar's volume: 1, 2 or 5, about a twentieth of it."""
    if not jar_volume_l:
        return USUAL_STEP_L
    wanted = jar_volume_l / STEPS_TO_FULL
    power = 10.0 ** floor(log10(wanted))
    chosen = max(one for one in (1.0, 2.0, 5.0) if one * power <= wanted * 1.0001)
    return round(chosen * power, 6)


def rate_now(
    jars: Sequence[Collected], scale: Scale | None, abv: float | None, now: datetime
) -> Rate | None:
    """Work out the rate: by the scale where one stands, else from the last jars measured."""
    if scale is not None and scale.growth_kg_min is not None:
        return Rate(max(0.0, volume_of_l(scale.growth_kg_min, abv)) * 1000.0, "scale")
    measured = [one for one in jars if _is_measured(one)][-JUDGED:]
    measured = [one for one in measured if now - (one.ended_at or now) < STALE]
    minutes = sum(_minutes(one) for one in measured)
    if minutes <= 0.0:
        return None
    volume_l = sum(one.content.volume_l or 0.0 for one in measured if one.content)
    return Rate(1000.0 * volume_l / minutes, "jars")


def full_at(
    jar: Collected,
    jar_volume_l: float | None,
    rate: Rate | None,
    came_l: float | None,
    now: datetime,
) -> datetime | None:
    """Say when an open jar will be full; `came_l` is what the scale says is in it."""
    if jar_volume_l is None or rate is None or rate.ml_min <= 0.0:
        return None
    began, in_it_l = (jar.jar.effective_at, 0.0) if came_l is None else (now, came_l)
    return began + timedelta(minutes=max(0.0, jar_volume_l - in_it_l) * 1000.0 / rate.ml_min)


def volume_of_l(mass_kg: float, abv: float | None) -> float:
    """Return the volume at 20 °C of a mass by the scale, of a strength or of a usual one."""
    strength = DENSITY_STRENGTH_ABV if abv is None else abv
    if mass_kg <= 0.0:
        return 0.0
    return contents_by_weight(mass_kg, strength).volume_at_20_c_l


def open_jar(jars: Sequence[Collected]) -> Collected | None:
    """Return the jar under the spout."""
    return next((one for one in reversed(jars) if one.ended_at is None), None)


def _is_measured(one: Collected) -> bool:
    known = one.content is not None and one.content.volume_l is not None
    return known and one.ended_at is not None


def _minutes(one: Collected) -> float:
    assert one.ended_at is not None  # noqa: S101 - measured jars have ended
    return (one.ended_at - one.jar.effective_at) / timedelta(minutes=1)
