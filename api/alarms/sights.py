"""What a measure looks at: a vessel, condenser, spot or the house itself, as of this moment."""

import math
from abc import ABC, abstractmethod
from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar, Final, Generic, TypeVar

from api.alarms.ground import (
    HOT_RUNS,
    TEMPERATURE,
    Charge,
    CondenserGround,
    Moment,
    PlannedRest,
    Spot,
    VesselGround,
)
from api.alarms.rules import Limits
from api.alarms.stages import StillWatch, WaterWatch

if TYPE_CHECKING:
    from api.alarms.estimated import Estimated

IDLE: Final = math.nan  # the question does not arise now: the condition does not hold
RUN: Final = "run"  # a still that is hot, whatever anybody has said of it
ANY_RUN: Final = HOT_RUNS | {RUN}
OPEN_MASH: Final = "open_mash_long"  # the rule whose limit is how long a mash in the pot covers
OPEN_MASH_MIN: Final = 240.0  # the alarms of a hot still, as shipped
OPEN_MASH_C: Final = 80.0  # hotter, it is judged as a run until somebody says that it is cooked

S = TypeVar("S")


class Measure(ABC, Generic[S]):
    """Makes one number of what it sees; the number is then held against the rule's limit."""

    __slots__ = ()

    @abstractmethod
    def see(self, sight: S) -> float | None:
        """Return the value; None where it is not known, IDLE where the question does not arise."""

    def mind_cycle(self, control_cycle_s: float) -> None:
        """Take how long a cycle of the heat's control lasts; what sees no slope does not care."""

    def mind_limits(self, limits: Mapping[str, Limits]) -> None:
        """Take the limits of all rules as they are; what stands by itself does not care."""

    def limit(self, declared: float) -> float:
        """Return the limit as circumstances have it now."""
        return declared


class VesselSight:
    """A vessel as of this moment."""

    __slots__ = (
        "charge", "cloudy_slot", "cooked_slot", "estimated", "ground", "open_mash_s", "period_s",
        "pressure_hpa", "rest", "room", "slot", "stage", "still", "touched_slot", "values",
        "waters", "yeast_maximum_c",
    )  # fmt: skip

    def __init__(self, ground: VesselGround, control_cycle_s: float) -> None:
        self.ground = ground
        self.slot = self.period_s = 0
        self.values: dict[str, float | None] = {}
        self.room: float | None = None
        self.pressure_hpa: float | None = None
        self.still = StillWatch(control_cycle_s) if ground.kind == "still" else None
        self.waters: list[WaterWatch] = []
        self.stage = ground.stage
        self.charge: Charge | None = None
        self.estimated: Estimated | None = None
        self.rest: PlannedRest | None = None  # the newest that has begun, where one is written down
        self.open_mash_s = OPEN_MASH_MIN * 60.0
        self.touched_slot: int | None = None  # somebody was there; None where nobody could say so
        self.cloudy_slot: int | None = None
        self.cooked_slot: int | None = None  # somebody said that a mash is being cooked
        self.yeast_maximum_c: float | None = None  # of the yeast that the record names

    def look(self, moment: Moment) -> None:
        """See the moment; the values were put in before."""
        self.slot, self.period_s = moment.slot, moment.period_s
        if self.still is not None:
            get = self.values.get
            pot = get("pot")
            head = get("head") if "head" in self.values else get("column")
            self.still.see(moment.slot, moment.period_s, pot, head, self.pressure_hpa)
        self.stage = self._stage()

    def _stage(self) -> str | None:
        said, still = self.ground.stage, self.still
        if still is None or said in HOT_RUNS:
            return said
        if said == "mash" and self._is_open_mash(still):
            return said
        return RUN if still.hot else said

    def _is_open_mash(self, still: StillWatch) -> bool:
        since = self.ground.since_slot
        in_time = since is None or self.slot - since <= self.open_mash_s
        return in_time and (still.pot is None or still.pot < OPEN_MASH_C or self.mash_cooked)

    @property
    def mash_cooked(self) -> bool:
        """Say whether somebody has said so of the mash that is in it, and no head shows vapour."""
        still, said, since = self.still, self.cooked_slot, self.ground.since_slot
        if still is None or said is None or (since is not None and said < since):
            return False
        return still.head is None or still.vapour_since is None


class CondenserSight:
    """A condenser as of this moment."""

    __slots__ = ("ground", "inlet", "outlet", "spout", "vessel", "water")

    def __init__(self, ground: CondenserGround, vessel: VesselSight) -> None:
        self.ground, self.vessel = ground, vessel
        self.water = WaterWatch()
        vessel.waters.append(self.water)
        self.outlet: float | None = None
        self.inlet: float | None = None
        self.spout: float | None = None

    @property
    def stage(self) -> str | None:
        """Return the stage of the vessel it is on."""
        return self.vessel.stage

    @property
    def still(self) -> StillWatch:
        """Return how the still it is on does."""
        assert self.vessel.still is not None  # noqa: S101 - condensers are made for stills
        return self.vessel.still

    def look(self) -> None:
        """See the moment, after the vessel has."""
        get = self.vessel.values.get
        self.outlet, self.inlet = get(self.ground.outlet), get(self.ground.inlet)
        self.spout = get("spout") if self.ground.gives_product else None
        self.water.see(
            self.vessel.slot,
            self.still,
            self.outlet,
            self.inlet,
            self.vessel.room,
            get("coolant_flow"),
        )


class SpotSight:
    """One probe at its place, as of this moment."""

    __slots__ = ("name", "present", "slot", "spot", "value", "vessel")
    stage: ClassVar[str] = RUN  # its rules hold whatever goes on

    def __init__(self, spot: Spot, vessel: VesselSight | None) -> None:
        self.spot, self.vessel = spot, vessel
        self.name = self._named(spot)
        self.slot = 0
        self.present = False  # in the scan, with whatever grade
        self.value: float | None = None

    @staticmethod
    def _named(spot: Spot) -> str:
        """Name what it says of its vessel: a place's name is its temperature's alone."""
        if spot.quantity.startswith("flow"):
            return "coolant_flow"
        return spot.name if spot.quantity == TEMPERATURE else f"{spot.name}/{spot.quantity}"

    @property
    def is_told(self) -> bool:
        """Whether measures ask for it by name: a temperature, or the water's flow."""
        return "/" not in self.name


class SystemSight:
    """The house itself, as of this moment."""

    __slots__ = ("clock_step_s", "down_s", "free_mb", "period_s", "silent_s", "slot")
    stage: ClassVar[str] = RUN

    def __init__(self) -> None:
        self.slot, self.period_s = 0, 1
        self.silent_s: float | None = None  # since the newest scan
        self.down_s: float | None = None  # how long nobody judged, while a still was hot
        self.clock_step_s: float | None = None
        self.free_mb: float | None = None
