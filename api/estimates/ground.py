"""What estimates stand on besides temperatures: the vessel, and what the record says of its run.

Everything here may be missing: an estimate then widens, or says that it cannot tell. Slots are
whole seconds of the time axis; errors are one standard error.
"""

from dataclasses import dataclass
from typing import Final

END_ABV: Final = 10.0  # at the spout a run is taken to end; common practice, no source


@dataclass(frozen=True, slots=True)
class Measured:
    """A number that somebody measured, and its standard error."""

    value: float
    error: float


@dataclass(frozen=True, slots=True)
class ProbeGround:
    """How far a place's probe can be trusted."""

    calibrated: bool = False
    error_c: float = 0.25  # one standard error: half of what the maker promises


@dataclass(frozen=True, slots=True)
class StillGround:
    """A still as it was declared."""

    volume_l: float | None = None
    heat_source: str = "none"  # element, flame, steam, none
    power_w: float | None = None  # by its plate
    loss_w_per_k: float | None = None
    element_cover_l: float | None = None
    has_reflux: bool = False  # a reflux condenser is declared
    head_after_reflux: bool | None = None  # where the head's probe sits; None: nobody said
    condenser_flow_l_min: float | None = None  # of the product condenser, at most
    condenser_duty_w: float | None = None


@dataclass(frozen=True, slots=True)
class SpoutReading:
    """The strength of what runs from the spout, read at a moment; at 20 °C."""

    slot: int
    abv: Measured


@dataclass(frozen=True, slots=True)
class JarGround:
    """What came over between two moments; at 20 °C, only what somebody read."""

    from_slot: int
    to_slot: int | None  # None: it is under the spout now
    volume_l: Measured | None = None
    abv: Measured | None = None
    holds_l: float | None = None  # when full


@dataclass(frozen=True, slots=True)
class PastRun:
    """What an earlier run of this purpose on this still taught; shares of its charge's alcohol."""

    run_id: str
    hearts_share: float | None = None  # pure alcohol of the hearts
    hearts_from_share: float | None = None  # what was over when the hearts began
    tails_from_share: float | None = None  # what was over when the tails began
    tails_from_abv: float | None = None  # spout strength then


@dataclass(frozen=True, slots=True)
class RunGround:
    """A run as the record has it now."""

    run_id: str
    purpose: str
    from_slot: int
    charge_volume_l: Measured | None = None
    charge_abv: Measured | None = None
    dissolved_g_l: Measured | None = None  # what does not boil off: sugar, grain
    spout: tuple[SpoutReading, ...] = ()
    jars: tuple[JarGround, ...] = ()
    powers_w: tuple[tuple[int, float], ...] = ()  # as marked: from this slot on
    first_drop_slot: int | None = None
    heat_off_slot: int | None = None
    end_abv: float | None = None  # the distiller stops at this spout strength
    end_left_share: float | None = None  # or when so much of the charge's alcohol is left
    seal_hpa: float | None = None  # that a liquid seal adds to the air's pressure
    vacuum: bool = False  # the still is pumped down, and nothing measures how far
    past: tuple[PastRun, ...] = ()


@dataclass(frozen=True, slots=True)
class GravityReading:
    """The gravity of a ferment at a moment, corrected for temperature."""

    slot: int
    sg: Measured


@dataclass(frozen=True, slots=True)
class FermentGround:
    """A ferment as the record has it now, and the vessel it is in."""

    run_id: str
    from_slot: int
    vessel_volume_l: float | None = None
    material: str | None = None
    insulation: str | None = None
    loss_w_per_k: float | None = None  # as declared
    volume_l: float | None = None  # of the wash
    pitched_slot: int | None = None
    original_sg: Measured | None = None
    gravities: tuple[GravityReading, ...] = ()  # after pitching, oldest first
    yeast: str | None = None
    yeast_max_c: float | None = None
    attenuation: float | None = None  # apparent, expected, 0 to 1
    kind_of_wash: str | None = None
    on_grain: bool | None = None


@dataclass(frozen=True, slots=True)
class RestGround:
    """A rest as planned and held."""

    low_c: float
    high_c: float
    minutes: float | None
    from_slot: int
    to_slot: int | None = None


@dataclass(frozen=True, slots=True)
class MashGround:
    """A mash as the record has it now, and the vessel it is in."""

    run_id: str
    from_slot: int
    vessel_volume_l: float | None = None
    material: str | None = None
    insulation: str | None = None
    loss_w_per_k: float | None = None
    grain_kg: float | None = None
    liquor_l: float | None = None
    power_w: float | None = None
    rests: tuple[RestGround, ...] = ()
