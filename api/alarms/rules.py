"""What an alarm rule is: one declaration, refused where anything an alarm needs is missing."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

from api.alarms.amounts import amount
from api.alarms.model import Priority
from api.alarms.words import RULES, RuleWords
from calc.errors import OutOfRangeError, WormtubError

if TYPE_CHECKING:
    from api.alarms.sights import Measure

PRACTICE: Final = "common practice, no source"
LONGEST_DELAY_S: Final = 86_400


class RuleError(WormtubError, ValueError):
    """A rule lacks what every alarm must have."""


class Scope(StrEnum):
    """What a rule is about, one alarm for each."""

    STILL = "still"
    MASH = "mash"  # any vessel with a probe in the mash, and a pot that mashes
    FERMENT = "ferment"
    PRODUCT = "product"  # a condenser that the spout runs from
    PRODUCT_TUBE = "product_tube"  # the same, but no worm tub, whose top warms all run
    REFLUX = "reflux"
    SPOT = "spot"
    SYSTEM = "system"


class Side(StrEnum):
    """On which side of its limit a value raises the alarm."""

    ABOVE = "above"
    BELOW = "below"


@dataclass(frozen=True, slots=True)
class Limits:
    """What an owner may set of a rule."""

    limit: float
    deadband: float
    on_delay_s: int
    off_delay_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """An alarm's declaration; without a priority it is an event, which asks nobody to act."""

    name: str
    scope: Scope
    measure: Callable[[], "Measure[Any]"]
    unit: str
    limits: Limits
    least: float  # the range a limit may lie in: the sensor's, or what makes sense
    most: float
    normal: float  # where the value lies when all is well; the deadband must not reach it
    priority: Priority | None
    time_to_act_s: int
    place: str = ""  # the place its value is from, where it is one
    side: Side = Side.ABOVE
    stages: frozenset[str] | None = None  # None: always
    basis: str = PRACTICE
    latching: bool = False
    chirps: bool = False  # heard at the still, briefly, before something worse
    window_s: int = 0  # of its slope, where it has one

    @property
    def words(self) -> RuleWords:
        """Return its texts."""
        return RULES[self.name]


def registered(rules: Iterable[Rule]) -> Mapping[str, Rule]:
    """Return rules by name, or raise RuleError at the first that no owner could act on."""
    found: dict[str, Rule] = {}
    for rule in rules:
        if rule.name in found:
            raise RuleError(f"The rule {rule.name} is declared twice; give one another name.")
        _check_words(rule)
        checked(rule, rule.limits)
        found[rule.name] = rule
    return found


def checked(rule: Rule, limits: Limits, *, us_units: bool = False) -> Limits:
    """Return the limits, or say in one sentence, in the house's units, why they cannot be."""

    def said(value: float, *, apart: bool = False) -> str:
        return amount(value, rule.unit, us_units=us_units, apart=apart)

    name = rule.words.name if rule.name in RULES else rule.name
    if not rule.least <= limits.limit <= rule.most:  # NaN too
        raise OutOfRangeError(
            f"The limit of “{name}” is {said(limits.limit)}; what measures it reaches from "
            f"{said(rule.least)} to {said(rule.most)}: give a limit in that range.",
            quantity="limit",
        )
    band = abs(limits.limit - rule.normal)
    if not 0 <= limits.deadband < max(band, 1e-9):
        raise OutOfRangeError(
            f"The deadband of “{name}” is {said(limits.deadband, apart=True)}, but between its "
            f"limit {said(limits.limit)} and what is normal, {said(rule.normal)}, lie only "
            f"{said(band, apart=True)}: it would never return; give a smaller deadband.",
            quantity="deadband",
        )
    for field, delay_s in (
        ("on_delay_s", limits.on_delay_s),
        ("off_delay_s", limits.off_delay_s),
    ):
        if not 0 <= delay_s <= LONGEST_DELAY_S:
            raise OutOfRangeError(
                f"The delay {field} of “{name}” is {delay_s} s; give 0 to {LONGEST_DELAY_S} s.",
                quantity=field,
            )
    return limits


def _check_words(rule: Rule) -> None:
    words = RULES.get(rule.name)
    if words is None or not words.name:
        raise RuleError(f"The rule {rule.name} has no name in words; give it its texts.")
    if not rule.basis:
        raise RuleError(f"The limit of {rule.name} states no basis; say where it is from.")
    if rule.priority is None:
        return
    for part in ("first_action", "cause", "consequence"):
        if not getattr(words, part):
            raise RuleError(
                f"The rule {rule.name} has no {part.replace('_', ' ')}; an alarm nobody can act "
                "on is an event: give it one, or no priority."
            )
