"""What hangs on the bus, in facts that seldom change."""

from dataclasses import dataclass
from functools import partial
from pathlib import Path
from time import monotonic

from logger.bus.bulk import Bulk
from logger.bus.discovery import Found, Tree
from logger.bus.files import Supply, read_resolution, read_supply
from logger.bus.lanes import Lane, Lanes


@dataclass(frozen=True, slots=True)
class ProbeFacts:
    """What is known of a probe besides what it measures."""

    probe_id: str
    kind: str  # "DS18B20"; an IIO chip's name
    master: str  # "w1_bus_master1"; "iio" for a channel
    resolution_bits: int | None  # None where it cannot be chosen, or is not known yet
    supply: Supply
    likely_copy: bool  # it works, but may be some degrees off: calibrate it
    bulk: bool  # whether its master converts all its probes at once


def is_likely_copy(probe_id: str) -> bool:
    """Judge by the number: genuine DS18B20 are numbered 28-0000... (common practice)."""
    return probe_id.startswith("28-") and not probe_id.startswith("28-0000")


def probes_on(bus_dir: Path, *, deadline_s: float = 2.0) -> tuple[ProbeFacts, ...]:
    """Ask the parts under a one-wire folder; one that hangs has facts unknown.

    Raises OSError where the folder cannot be read. It costs each part some milliseconds of the
    bus, and no conversion where the kernel has a `resolution` file.
    """
    tree, lanes = Tree(bus_dir), Lanes()
    found = {each.probe_id: each for each in tree.thermometers()}
    facts = {probe_id: facts_of(each, tree.folder) for probe_id, each in found.items()}
    used = {probe_id: Lane(f"facts {probe_id}") for probe_id in found}
    lanes.begin()
    for probe_id, each in found.items():
        lanes.ask(used[probe_id], partial(_ask, tree, each), partial(facts.__setitem__, probe_id))
    lanes.run_until(monotonic() + deadline_s)
    for lane in used.values():
        lane.close()
    return tuple(facts[probe_id] for probe_id in sorted(facts))


def facts_of(
    found: Found,
    folder: Path,
    *,
    resolution_bits: int | None = None,
    supply: Supply = "unknown",
) -> ProbeFacts:
    """Join what is known of a part; no word on the bus."""
    return ProbeFacts(
        found.probe_id,
        found.kind,
        found.master,
        resolution_bits,
        supply,
        is_likely_copy(found.probe_id),
        Bulk(folder / found.master).present(),
    )


def _ask(tree: Tree, found: Found) -> ProbeFacts:
    bits = read_resolution(found.home) or tree.resolution_bits(found)
    return facts_of(found, tree.folder, resolution_bits=bits, supply=read_supply(found.home))
