"""Faults on command between processes: a folder beside the bus, one small file a fault.

`DIR/../control/28-0000075a1b2c` holding `crc` makes that probe fail so, for as long as the file
is there. Anything may drop or remove such a file; it is best done by a rename.
"""

from collections.abc import Sequence
from pathlib import Path

from logger.bus.discovery import Tree
from logger.bus.faults import Fault
from logger.errors import BusError


def folder_beside(bus: Path) -> Path:
    """Name the control folder of a simulated bus."""
    return bus.parent / "control"


def fault_named(word: str) -> Fault | None:
    """Take a word for a fault; "none" is none."""
    if word == "none":
        return None
    try:
        return Fault(word)
    except ValueError:
        raise BusError(
            f'"{word}" is no fault of the simulated bus; there are {", ".join(Fault)} and none.'
        ) from None


def ask(bus: Path, probe_id: str, fault: Fault | None) -> None:
    """Ask the process that simulates the bus for a fault, or for none."""
    folder = folder_beside(bus)
    path = folder / probe_id
    if not folder.is_dir() or not ((bus / probe_id).exists() or path.exists()):
        found = Tree(bus).thermometers() if bus.is_dir() else ()
        here = ", ".join(each.probe_id for each in found)
        raise BusError(
            f"No simulated probe {probe_id} is at {bus}: there is "
            f"{here or 'none; start them with wormtub simulate'}."
        )
    if fault is None:
        path.unlink(missing_ok=True)
        return
    fresh = folder / f".{probe_id}.new"
    fresh.write_text(f"{fault}\n")
    fresh.replace(path)


def wanted(folder: Path, probe_ids: Sequence[str]) -> dict[str, Fault]:
    """Read which faults are asked for; a word that is no fault asks for none."""
    asked = {}
    for probe_id in probe_ids:
        try:
            asked[probe_id] = Fault((folder / probe_id).read_text().strip())
        except (FileNotFoundError, ValueError):
            continue
    return asked
