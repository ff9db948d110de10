"""What can go wrong in the plant, by name. Faults of the one-wire bus are `logger.bus.faults`."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from logger.errors import PlantError


class Trouble(StrEnum):
    """Something that goes wrong with the plant itself, or with how its probes sit."""

    COOLANT_STOPPED = "coolant-stopped"  # no water through the condensers
    COOLANT_WEAK = "coolant-weak"  # amount: what is left, %
    COOLANT_WARM = "coolant-warm"  # amount: how much warmer it gets, K
    HOSE_OFF = "hose-off"  # the product condenser's jacket runs empty
    HEAT_LOST = "heat-lost"
    POWER_CUT = "power-cut"  # electric heat, pumped water and the room's heating stop; fire goes on
    BOIL_OVER = "boil-over"  # the charge foams without measure
    VENT_BLOCKED = "vent-blocked"  # amount: pressure it adds, hPa
    STORM = "storm"  # amount: fall of the barometer, hPa
    DOOR_OPEN = "door-open"
    YEAST_DIES = "yeast-dies"
    FERMENT_WRAPPED = "ferment-wrapped"  # fermenters lose little heat and their coils are off
    PROBE_SLIPPED = "probe-slipped"  # at a place; amount: how far towards the room, %
    PROBE_BURIED = "probe-buried"  # at a place: in solids, slow
    PROBES_SWAPPED = "probes-swapped"  # at two places

    @classmethod
    def named(cls, name: str) -> "Trouble":
        """Take a word for a trouble; PlantError where it is none."""
        try:
            return cls(name)
        except ValueError:
            raise PlantError(
                f'"{name}" is no fault of the plant; there are {", ".join(cls)}.'
            ) from None


DEFAULTS: Final = {
    Trouble.COOLANT_WEAK: 35.0,
    Trouble.COOLANT_WARM: 25.0,
    Trouble.VENT_BLOCKED: 40.0,
    Trouble.STORM: 18.0,
    Trouble.PROBE_SLIPPED: 60.0,
}
PLACES: Final = {  # how many places each is at
    Trouble.PROBE_SLIPPED: 1,
    Trouble.PROBE_BURIED: 1,
    Trouble.PROBES_SWAPPED: 2,
}


@dataclass(frozen=True, slots=True)
class Case:
    """One trouble as it has befallen the plant."""

    trouble: Trouble
    amount: float = 0.0
    places: tuple[str, ...] = ()

    @classmethod
    def read(cls, words: str, known_places: tuple[str, ...]) -> "Case":
        """Read it from words: "coolant-warm by 20", "probes-swapped at pot and head"."""
        name, _, rest = words.strip().partition(" ")
        trouble = Trouble.named(name)
        amount, places = DEFAULTS.get(trouble, 0.0), tuple[str, ...]()
        if rest.startswith("at "):
            rest, _, number = rest[3:].partition(" by ")
            places = tuple(part.strip() for part in rest.split(" and "))
            rest = f"by {number}" if number else ""
        if rest.startswith("by "):
            amount, rest = _number(rest[3:], trouble), ""
        if rest:
            raise PlantError(f'"{rest}" does not belong to {trouble}; write "by 20" or "at head".')
        return cls._checked(trouble, amount, places, known_places)

    @classmethod
    def _checked(
        cls, trouble: Trouble, amount: float, places: tuple[str, ...], known: tuple[str, ...]
    ) -> "Case":
        wanted = PLACES.get(trouble, 0)
        if len(places) != wanted:
            how = ("no place", 'one place, as in "at head"', 'two places, as in "at pot and head"')
            raise PlantError(f"{trouble} is at {how[wanted]}; {len(places)} are given.")
        for place in places:
            if place not in known:
                raise PlantError(f'There is no place "{place}"; there are {", ".join(known)}.')
        return cls(trouble, amount, places)


def _number(text: str, trouble: Trouble) -> float:
    try:
        return float(text.split(maxsplit=1)[0])
    except (ValueError, IndexError):
        raise PlantError(f'"{text}" is no number for {trouble}; write "by 20".') from None
