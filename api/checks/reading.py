"""Checks of the way of a reading: bus, probes, logger and service."""

from pathlib import Path
from typing import Final

from api.board import Standing
from api.checks.check import Check, Ground, age, bad, fine, warn
from api.messages import stale_after_s
from logger.bus.inventory import probes_on
from logger.reading import Grade
from logger.service_state import ServiceState

LOCKS: Final = Path("/proc/locks")
BEHIND_S: Final = 30  # a scan that is not judged within this is as good as lost for an alarm


def bus(ground: Ground) -> Check:
    """Look at what hangs on the one-wire folder, without a conversion."""
    folder = ground.settings.bus
    try:
        found = probes_on(folder)
    except OSError as error:
        return bad(
            "bus",
            f"The one-wire folder {folder} cannot be read ({error.strerror or error}).",
            "Switch the bus on (dtoverlay=w1-gpio in /boot/firmware/config.txt, then restart), "
            "or name another folder with bus in wormtub.toml.",
        )
    if not found:
        return warn(
            "bus",
            f"No probe hangs on {folder}.",
            "Check supply, data and ground of the line and the pull-up at the Pi; "
            "deploy/wiring/README.md shows them.",
        )
    copies = sum(one.likely_copy for one in found)
    thin = [one.probe_id for one in found if one.supply == "parasite"]
    if thin:
        return warn(
            "bus",
            f"{len(thin)} of {len(found)} probes draw their supply from the data line: "
            f"{', '.join(thin)}.",
            "Connect the third wire to 3.3 V: they cannot all convert at once and fail when hot.",
        )
    says = "1 probe hangs on the bus" if len(found) == 1 else f"{len(found)} probes hang on the bus"
    return fine("bus", f"{says}; {copies} of them are likely copies." if copies else f"{says}.")


def probes(ground: Ground) -> Check:
    """Look at what the last scan read."""
    shown = ground.standings
    refused = [one for one in shown if one.grade is not Grade.OK]
    if not shown:
        do = "Check the wiring and the bus folder (wormtub probes)."
        return warn("probes", "No probe has been read yet.", do)
    if not refused:
        return fine("probes", f"All {len(shown)} probes read well.")
    names = ", ".join(f"{_name(one)} ({one.grade.name.lower()})" for one in refused)
    tell = bad if any(one.line.place for one in refused) else warn
    return tell(
        "probes",
        f"{len(refused)} of {len(shown)} probes gave no good reading: {names}.",
        "Check the cable, the connections and the supply of the probes named.",
    )


def logger(ground: Ground) -> Check:
    """Look at whether scans come."""
    runs = held(ground.settings.data / "logger.lock")
    if ground.age_s is None and runs:
        says = "The logger runs but has stored no scan yet."
        return warn("logger", says, "Wait a moment; then see what the logger says.")
    if ground.age_s is None:
        return bad("logger", "No scan is stored yet.", "Start wormtub log.")
    says = f"The newest scan is {age(ground.age_s)} old"
    if ground.age_s <= stale_after_s(ground.period_s):
        return fine("logger", f"{says}.")
    if runs:
        do = "Restart the logger and see what it says."
        return bad("logger", f"{says}; the logger hangs.", do)
    return bad("logger", f"{says}; the logger is not running.", "Start wormtub log.")


def service(ground: Ground) -> Check:
    """Look at whether the service judges what is read: no alarm comes otherwise."""
    if not held(ground.settings.data / "service.lock"):
        return bad(
            "service", "The service is not running: no alarm would come.", "Start wormtub serve."
        )
    state = ServiceState.read(ground.settings.data)
    if state is None or ground.slot is None:
        return fine("service", "The service runs; it has judged no scan yet.")
    behind_s = ground.slot - state.judged_slot
    if behind_s > BEHIND_S:
        return bad(
            "service",
            f"The service is {age(behind_s)} behind with judging what is read: alarms come late.",
            "Restart the service and see what it says.",
        )
    return fine("service", "The service judges each scan as it comes.")


def held(lock: Path) -> bool:
    """Say whether some process holds a lock, without touching it: proc_locks(5)."""
    try:
        mark = f":{lock.stat().st_ino} "
        return any("FLOCK" in line and mark in line for line in LOCKS.read_text().splitlines())
    except OSError:
        return False


def _name(one: Standing) -> str:
    return one.line.place or one.line.channel.probe_id
