"""What the parts of a review are called: the one place to translate."""

from collections.abc import Mapping
from typing import Final, Literal

MomentKey = Literal[
    "begin", "heat_on", "boil", "first_drop", "foreshots_end", "hearts", "tails", "heat_off",
    "end", "over",
]  # fmt: skip
PhaseKey = Literal["heat_up", "foreshots", "heads", "hearts", "tails", "collecting", "cooling"]
Basis = Literal["entered", "marked", "seen", "jars"]

MOMENTS: Final[Mapping[MomentKey, str]] = {
    "begin": "Run begun",
    "heat_on": "Heat on",
    "boil": "Boil",
    "first_drop": "First drop",
    "foreshots_end": "Foreshots end",
    "hearts": "Hearts begin",
    "tails": "Tails begin",
    "heat_off": "Heat off",
    "end": "End of collecting",
    "over": "Still emptied",
}
PHASES: Final[Mapping[PhaseKey, str]] = {
    "heat_up": "Heating up",
    "foreshots": "Foreshots",
    "heads": "Heads",
    "hearts": "Hearts",
    "tails": "Tails",
    "collecting": "Collecting",
    "cooling": "Cooling",
}
PURPOSES: Final[Mapping[str, str]] = {
    "strip": "stripping run",
    "spirit": "spirit run",
    "single": "single run",
    "botanical": "botanical run",
    "feints": "feints run",
    "cleaning": "cleaning run",
    "sacrificial": "sacrificial run",
}
PLACES: Final[Mapping[str, str]] = {
    "coolant_in": "coolant's inlet",
    "coolant_out": "coolant's outlet",
    "reflux_out": "reflux condenser's outlet",
}
POWER_LEAST_KW: Final = 0.01  # less is off


def place_name(place: str) -> str:
    """Say a place as people do, after "the"."""
    return PLACES.get(place, place.replace("_", " "))
