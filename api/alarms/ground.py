"""What the alarms stand on: spots, vessels and condensers, and one moment's scan."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Protocol

HOT_RUNS: Final = frozenset(
    {"strip", "spirit", "single", "botanical", "feints", "cleaning", "sacrificial"}
)
TEMPERATURE: Final = "temperature_c"


@dataclass(frozen=True, slots=True)
class Spot:
    """A place with a probe, or a probe without a place (no vessel, its own id for a name)."""

    key: str
    name: str
    vessel: str | None = None  # the vessel's key
    quantity: str = TEMPERATURE


@dataclass(frozen=True, slots=True)
class VesselGround:
    """A vessel, and what holds it now."""

    key: str
    name: str
    kind: str  # mash_tun, fermenter, still, ...
    heat_source: str = "none"
    element_cover_l: float | None = None
    stage: str | None = None  # the occupancy's
    run_id: str | None = None  # the occupancy's id
    since_slot: int | None = None  # when it began


@dataclass(frozen=True, slots=True)
class CondenserGround:
    """A condenser of a still, and the names of the places its probes have."""

    key: str
    name: str
    vessel: str
    kind: str = "product"  # product, reflux, worm_tub
    outlet: str = "coolant_out"
    inlet: str = "coolant_in"
    is_declared: bool = True  # False: a still's that nobody has described

    @property
    def gives_product(self) -> bool:
        """Say whether the spout runs from it."""
        return self.kind != "reflux"


@dataclass(frozen=True, slots=True)
class Ground:
    """Everything there is to watch."""

    spots: tuple[Spot, ...] = ()
    vessels: tuple[VesselGround, ...] = ()
    condensers: tuple[CondenserGround, ...] = ()
    control_cycle_s: float = 0.0  # of the heat's control, where one is set

    def where(self, subject: str) -> str:
        """Say in words what a subject is."""
        names = {one.key: one.name for one in self.vessels}
        for spot in self.spots:
            if spot.key == subject:
                vessel = names.get(spot.vessel or "")
                return f"{vessel}, {spot.name}" if vessel else spot.name
        for condenser in self.condensers:
            if condenser.key == subject:
                return f"{names.get(condenser.vessel, '')}, {condenser.name}".strip(", ")
        return names.get(subject, subject)


@dataclass(frozen=True, slots=True)
class Moment:
    """One scan as the alarms see it: calibrated values by spot, None where a reading was refused.

    A spot that the scan did not have is missing.
    """

    slot: int
    period_s: int
    values: Mapping[str, float | None]


THICK: Final = frozenset({"grain", "fruit", "molasses"})  # washes that foam, with pulp or solids


@dataclass(frozen=True, slots=True)
class Charge:
    """What the record says of the run in a still; None is not known."""

    volume_l: float | None = None
    abv: float | None = None
    fill_fraction: float | None = None  # of the pot's volume
    kind_of_wash: str | None = None  # grain, sugar, fruit, molasses, other
    collected_l: float | None = None
    receiver_fraction: float | None = None  # how full the receiver is
    on_grain: bool | None = None  # whether grain or pulp is in it; None: nobody said

    @property
    def is_thick(self) -> bool:
        """Whether it foams and scorches as with solids: as was said, else as such a wash may."""
        return self.kind_of_wash in THICK if self.on_grain is None else self.on_grain


@dataclass(frozen=True, slots=True)
class PlannedRest:
    """A mash's rest as the record has it: its range, its minutes where planned, and its slots."""

    low_c: float
    high_c: float
    minutes: float | None
    from_slot: int
    to_slot: int | None = None


class Charges(Protocol):
    """Where the charge of a run, and the rest of a mash, are asked for."""

    def charge(self, run_id: str) -> Charge | None:
        """Return what is known of a run's charge."""

    def last_hand_at(self, run_id: str) -> datetime | None:
        """Return when somebody last did something at the still of a run."""

    def rest(self, run_id: str, slot_of: Callable[[datetime], int]) -> PlannedRest | None:
        """Return the newest rest that is written down of a mash."""

    def yeast(self, run_id: str) -> str | None:
        """Return the name of the yeast that was pitched last into a ferment."""


class NothingKnown:
    """A record that knows of no charge: rules that need it say that it is not known."""

    def charge(self, run_id: str) -> Charge | None:
        """Return nothing."""
        del run_id
        return None

    def last_hand_at(self, run_id: str) -> datetime | None:
        """Return nothing."""
        del run_id
        return None

    def rest(self, run_id: str, slot_of: Callable[[datetime], int]) -> PlannedRest | None:
        """Return nothing."""
        del run_id, slot_of
        return None

    def yeast(self, run_id: str) -> str | None:
        """Return nothing."""
        del run_id
        return None
