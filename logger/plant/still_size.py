"""What a still is built like, and what it is heated with. Invented where no source is named."""

from dataclasses import dataclass, field
from typing import Literal

from logger.plant.condenser import CondenserSize

HeatSource = Literal["element", "flame", "steam"]
HeadProbe = Literal["before_reflux", "after_reflux"]


@dataclass(frozen=True, slots=True)
class StillSize:
    """Pot, column, condensers; stages are theoretical (a plate, or packing by its height)."""

    volume_l: float = 300.0
    metal_j_k: float = 16_000.0  # 40 kg of copper
    loss_w_k: float = 18.0
    heat_source: HeatSource = "element"
    efficiency: float = 0.97  # of the power that reaches the charge
    heat_lag_s: float = 20.0
    power_cycle_s: float = 0.0  # of a control that switches; 0 is a steady one
    element_cover_l: float = 30.0
    stages: int = 2
    stage_holdup_l: float = 0.35
    stage_metal_j_k: float = 900.0
    stage_loss_w_k: float = 0.35
    neck: bool = True
    neck_holdup_l: float = 0.2
    neck_metal_j_k: float = 1800.0
    neck_loss_w_k: float = 1.1
    flood_mol_s: float = 0.6
    drop_hpa_per_mol2_s2: float = 60.0  # pressure of the vapour's way out, per square of its flow
    product: CondenserSize = field(default_factory=CondenserSize)
    reflux: CondenserSize | None = None
    head_probe: HeadProbe = "before_reflux"
    spout_holdup_l: float = 0.12
