"""The short list before the heat goes on: what is computed from the record, and what is ticked.

Pure. It is a reminder and no safety device; local codes and licensed practice come first.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from calc.hazards import FILL_SHARES, STRONGEST_CHARGE_ABV

# How full a pot may be; with grain or pulp in it less than calc's foaming wash, which may be clear.
CLEAR_FILL: Final = FILL_SHARES["wash"]
ON_GRAIN_FILL: Final = (0.55, 0.60)  # common practice, no source
SPIRIT_FILL: Final = FILL_SHARES["low-wines"]  # they foam little
STRONGEST_ABV: Final = STRONGEST_CHARGE_ABV

CHARGED_WITH: Final = {
    "wash": "with clear wash",
    "spirit": "with low wines or feints",
    "unknown": "and is reckoned as with clear wash",
}

State = Literal["ok", "near", "not ok", "not known", "to tick"]


@dataclass(frozen=True, slots=True)
class Check:
    """One line of the list."""

    key: str
    label: str
    state: State
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class Charged:
    """What the record knows of a charge and its still."""

    volume_l: float | None
    abv: float | None
    pot_l: float | None
    cover_l: float | None = None  # what covers the element
    has_element: bool = False
    on_grain: bool = False
    kind: Literal["wash", "spirit", "unknown"] = "unknown"
    shows_strength: bool = True  # a cleaning run shows none; too strong is told all the same


TICKS: Final = (
    ("vent_open", "The vent is open, and nothing can close the way out of the still"),
    ("outlet_clear", "The outlet runs freely, down to the receiver"),
    ("water_proven", "The cooling water has run, and its outlet is seen to flow"),
    ("receiver_placed", "The receiver stands in its place, open, away from flame and spark"),
)


def checklist(charge: Charged) -> Sequence[Check]:
    """Make the list for a charge."""
    ticks = [Check(key, label, "to tick") for key, label in TICKS]
    return (*ticks, _covered(charge), _fill(charge), _strength(charge))


def _covered(charge: Charged) -> Check:
    key, label = "element_covered", "The element is covered, now and at the end of the run"
    if not charge.has_element:
        return Check(key, label, "ok", "This still has no element.")
    if charge.volume_l is None or charge.cover_l is None:
        return Check(key, label, "not known", _missing(charge))
    if charge.volume_l < charge.cover_l:
        return Check(
            key, label, "not ok",
            f"{charge.volume_l:.0f} L do not cover the element, which needs {charge.cover_l:.0f} "
            "L: a bare element burns what touches it.",
        )  # fmt: skip
    return Check(
        key, label, "ok",
        f"{charge.volume_l:.0f} L cover it; stop before {charge.cover_l:.0f} L are left.",
    )  # fmt: skip


def _fill(charge: Charged) -> Check:
    key, label = "fill_in_limits", "The pot is not too full"
    if charge.volume_l is None or charge.pot_l is None:
        return Check(key, label, "not known", _missing(charge))
    limits = SPIRIT_FILL if charge.kind == "spirit" else CLEAR_FILL
    limits = ON_GRAIN_FILL if charge.on_grain else limits
    fill = charge.volume_l / charge.pot_l
    what = "with grain or pulp" if charge.on_grain else CHARGED_WITH[charge.kind]
    said = (
        f"The pot is {100 * fill:.0f} % full {what}; {100 * limits[0]:.0f} to "
        f"{100 * limits[1]:.0f} % is as full as it should be."
    )
    if fill > limits[1]:
        return Check(key, label, "not ok", said)
    return Check(key, label, "near" if fill > limits[0] else "ok", said)


def _strength(charge: Charged) -> Check:
    key, label = "strength_in_limits", "The charge is not too strong"
    if charge.abv is None:
        return Check(key, label, "not known", "The strength of the charge has not been entered.")
    state: State = "ok" if charge.abv <= STRONGEST_ABV else "not ok"
    most = f"{STRONGEST_ABV:.0f} % vol is the most a charge should have."
    if not charge.shows_strength:
        return Check(key, label, state, most)
    return Check(key, label, state, f"The charge has {charge.abv:.1f} % vol; {most}")


def _missing(charge: Charged) -> str:
    if charge.volume_l is None:
        return "The volume of the charge has not been entered."
    return "The still's size, or what covers its element, has not been entered."
