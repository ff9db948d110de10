"""Checks of the machine itself: its temperature, its supply, and what runs on it."""

import platform
from pathlib import Path
from typing import Final

from api.checks.check import Check, Ground, bad, fine, warn
from api.versions import program_version
from logger.store.database import HEAD

# The Pi throttles at 80 to 85 °C (its makers' documentation, from memory); warm is common practice.
HOT_C: Final = 80.0
WARM_C: Final = 70.0


def temperature(ground: Ground) -> Check:
    """Look at the processor's own temperature, as the kernel's thermal zones tell it."""
    found = [*_thermal(ground.system)]
    if not found:
        return fine("machine", "This machine does not tell its own temperature.")
    warmest_c = max(found)
    says = f"The processor is at {warmest_c:.0f} °C."
    if warmest_c < WARM_C:
        return fine("machine", says)
    tell = bad if warmest_c >= HOT_C else warn
    return tell("machine", says, "Give the Pi air or a heat sink, away from the still's warmth.")


def supply(ground: Ground) -> Check:
    """Look at the undervoltage alarm of the Pi's own monitor (the kernel's rpi_volt)."""
    for monitor in sorted((ground.system / "class/hwmon").glob("*")):
        if _text(monitor / "name") == "rpi_volt":
            if _text(monitor / "in0_lcrit_alarm") == "1":
                return bad(
                    "supply",
                    "The Pi's supply has sagged: readings, the card and the clock suffer.",
                    "Fit the supply made for it and a short, thick cable; unplug what hangs on "
                    "its sockets.",
                )
            return fine("supply", "The Pi's supply is well.")
    return fine("supply", "This machine does not tell how its supply does.")


def versions(_: Ground) -> Check:
    """Say what runs here."""
    return fine(
        "versions",
        f"Wormtub {program_version()}, schema {HEAD}, Python {platform.python_version()}.",
    )


def _thermal(system: Path) -> list[float]:
    texts = (_text(zone / "temp") for zone in (system / "class/thermal").glob("thermal_zone*"))
    return [int(text) / 1000 for text in texts if text.lstrip("-").isdecimal()]


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="ascii", errors="replace").strip()
    except OSError:
        return ""
