"""The strength a jar should have, for the stepper to start at.

It comes from the run's own readings, carried on by what the head says. It is only offered; nothing
of it is stored unless a person says so.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from api.board import Board, Standing
from api.record.collected import Collected
from calc.alcoholometer import expected_reading
from calc.errors import OutOfRangeError
from calc.vapour_strength import vapour_strength
from logger.store.gauging import MOST_DISTILLED_ABV
from logger.store.tables import TEMPERATURE

FRESH: Final = timedelta(seconds=90)  # a head read longer ago says nothing of the spirit now

HeadThen = Callable[[datetime, datetime], float | None]  # the head's mean over a jar, in °C


@dataclass(frozen=True, slots=True)
class Spot:
    """A place as it read last."""

    place_id: str
    value: float
    trend_per_min: float | None


@dataclass(frozen=True, slots=True)
class Seen:
    """What the board showed at one moment, by vessel, place and quantity."""

    at: datetime
    spots: Mapping[tuple[str | None, str, str], Spot]

    @classmethod
    def on(cls, board: Board, at: datetime) -> "Seen":
        """Look at the board; on the event loop."""
        spots = {_where(one): _spot(one) for one in board.standings() if one.value is not None}
        return cls(at, {where: spot for where, spot in spots.items() if where and spot})

    def of(self, vessel: str | None, place: str, quantity: str = TEMPERATURE) -> Spot | None:
        """Return what a place shows, if it shows anything now."""
        return self.spots.get((vessel, place, quantity))


@dataclass(frozen=True, slots=True)
class Expected:
    """A strength at 20 °C with what it stands on; or none, and why it cannot be told."""

    abv: float | None
    why: str


def expected_strength(
    jars: Sequence[Collected],
    head: Spot | None,
    head_then: HeadThen,
    pressure_hpa: Callable[[], float],
    now: datetime,
) -> Expected:
    """Say what strength comes over now."""
    read = [one for one in jars if one.basis == "read" and one.content and one.content.strength]
    seen = _by_head(head, pressure_hpa)
    if not read:
        return seen
    last = read[-1]
    if head is not None and seen.abv is not None:
        then_c = head_then(last.jar.effective_at, last.ended_at or now)
        then = _by_head(None if then_c is None else Spot("", then_c, None), pressure_hpa)
        if then.abv is not None:
            change = seen.abv - then.abv
            says = f"Jar {last.jar.number} as read, changed by {change:+.1f} by the head since."
            return _possible(_abv(last) + change, says)
    return _carried_on(read, now)


def expected_on_scale(abv: float | None, temperature_c: float | None) -> float | None:
    """Return what an alcoholometer for 20 °C would show; None off its scale."""
    if abv is None or temperature_c is None:
        return None
    try:
        return round(expected_reading(abv, temperature_c), 1)
    except OutOfRangeError:
        return None


def _carried_on(read: Sequence[Collected], now: datetime) -> Expected:
    """Carry the line through the last two readings on; of one, expect the same again."""
    last = read[-1]
    if len(read) == 1:
        return _possible(_abv(last), f"As jar {last.jar.number} was read.")
    before = read[-2]
    span = _middle(last, now) - _middle(before, now)
    if span <= timedelta(0):
        return _possible(_abv(last), f"As jar {last.jar.number} was read.")
    slope = (_abv(last) - _abv(before)) / (span / timedelta(minutes=1))
    later = (now - _middle(last, now)) / timedelta(minutes=1)
    says = f"Jars {before.jar.number} and {last.jar.number} as read, carried on."
    return _possible(_abv(last) + slope * later, says)


def _by_head(head: Spot | None, pressure_hpa: Callable[[], float]) -> Expected:
    if head is None:
        return Expected(None, "No jar of this run was read yet, and no probe in the head reads.")
    try:
        found = vapour_strength(head.value, pressure_hpa())
    except OutOfRangeError as error:
        return Expected(None, str(error))
    if found.abv is None:
        return Expected(None, found.why or "The head does not tell.")
    return Expected(round(found.abv, 1), "From the head's temperature; no jar was read yet.")


def _possible(abv: float, says: str) -> Expected:
    if not 0.0 <= abv <= MOST_DISTILLED_ABV:
        return Expected(None, f"{says} That comes to {abv:.0f} % vol, which cannot be: read a jar.")
    return Expected(round(abv, 1), says)


def _abv(one: Collected) -> float:
    assert one.content is not None and one.content.strength is not None  # noqa: S101, PT018
    return one.content.strength.abv


def _middle(one: Collected, now: datetime) -> datetime:
    began = one.jar.effective_at
    return began + ((one.ended_at or now) - began) / 2


def _where(one: Standing) -> tuple[str | None, str, str] | None:
    line = one.line
    return None if line.place is None else (line.vessel, line.place, line.channel.quantity)


def _spot(one: Standing) -> Spot | None:
    if one.value is None or one.line.place_id is None:
        return None
    return Spot(one.line.place_id, one.value, one.trend_per_min)
