"""How a probe does, in sentences, and what to do about it."""

from collections import Counter
from collections.abc import Mapping
from typing import Any, Final

from api.board import ChannelHealth
from logger.reading import Grade

WRONG: Final[Mapping[Grade, str]] = {
    Grade.POWER_ON: "It starts anew between readings: look at its supply.",
    Grade.LOW_SUPPLY: "Its supply sags while it measures: look at the supply and the cable.",
    Grade.BUS_LOW: "The data line is shorted: look at its plugs and cable.",
    Grade.CRC: "Its bytes arrive hurt: look at its cable, plugs and what runs beside them.",
    Grade.EMPTY: "It does not answer: look at its plug and cable.",
    Grade.TORN: "Half an answer came: look at its cable, and at the load on the machine.",
    Grade.GONE: "It is no longer on the bus: look at its plug and cable.",
    Grade.TIMED_OUT: "It answers too late: look at its supply and the length of the cable.",
    Grade.OUT_OF_RANGE: "It says what it cannot measure: replace it.",
}


def warnings_of(probe_id: str, bus: Mapping[str, Any]) -> list[str]:
    """Say what is worth knowing of a probe's make and wiring; nothing is refused for it."""
    warnings = []
    if bus["likely_copy"]:
        warnings.append(
            f"{probe_id} is numbered as copies are: it may be off by up to 3 °C, so calibrate it "
            "at two points; it is used like any other."
        )
    if bus["supply"] == "parasite":
        warnings.append(
            f"{probe_id} draws its supply from the data line, which is slow and easily disturbed; "
            "give it a supply wire of its own."
        )
    return warnings


def says_of(health: ChannelHealth | None, bad_day: Counter[Grade]) -> str:
    """Say how it reads."""
    if health is None or health.grade is None:
        return "It is not in the newest scan; see whether it is connected."
    if health.grade is not Grade.OK:
        return f"{WRONG[health.grade]} Its newest reading was refused."
    refused = sum(bad_day.values())
    if refused == 0:
        return "It reads well; nothing was refused in the last day."
    worst = bad_day.most_common(1)[0][0]
    return f"It reads well now; {refused} readings were refused in the last day. {WRONG[worst]}"
