"""What a plant is built like: the invented one of the demonstration, or one drawn by a seed."""

from dataclasses import dataclass, field, replace
from random import Random
from typing import Final

from logger.plant.condenser import CondenserSize
from logger.plant.still_size import StillSize
from logger.plant.tank import TankSize
from logger.plant.weather import Weather

STILL: Final = "still"
STILL_PLACES: Final = ("pot", "column", "head", "coolant_in", "coolant_out", "spout")
LAGS_S: Final = {  # of a sheathed probe where it sits; common practice, no source
    "pot": 25.0, "column": 12.0, "head": 9.0, "coolant_in": 10.0, "coolant_out": 10.0,
    "reflux_out": 10.0, "spout": 12.0, "ferment": 60.0, "mash": 40.0, "room": 90.0,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class TankPlace:
    """A tank, and the name of the place its probe has."""

    place: str
    size: TankSize


@dataclass(frozen=True, slots=True)
class ProbeError:
    """What is wrong with an uncalibrated probe."""

    slope: float = 1.0
    offset_c: float = 0.0


@dataclass(frozen=True, slots=True)
class PlantSize:
    """Everything that is fixed while a plant runs."""

    still: StillSize = field(default_factory=StillSize)
    tanks: dict[str, TankPlace] = field(
        default_factory=lambda: {
            "mash tun": TankPlace("mash", TankSize(400.0, 40_000.0, 7.0, 420.0)),
            "fermenter 1": TankPlace("ferment", TankSize(350.0, 25_000.0, 9.0, 200.0)),
            "fermenter 2": TankPlace("ferment", TankSize(350.0, 25_000.0, 9.0, 200.0)),
        }
    )
    weather: Weather = field(default_factory=Weather)
    coolant_c: float = 12.0
    recirculated_l: float = 0.0  # 0: from the main; else a tank that warms
    pumped: bool = False  # whether a power cut stops the water
    outlet_on_hose: bool = True  # else on the condenser's own outlet
    yeast_vigour: float = 0.45  # against the published model's, stirred in a reactor; ours
    foaminess: float = 0.2  # of a wash; litres of foam from a litre of vapour
    room_c: float = 18.0
    lag_scale: float = 1.0
    errors: dict[str, ProbeError] = field(default_factory=dict)  # by place; none: true
    noise_c: float = 0.035

    @property
    def places(self) -> tuple[str, ...]:
        """The places' names: a tank's in full where several share one."""
        still = STILL_PLACES + (("reflux_out",) if self.still.reflux else ())
        names = [tank.place for tank in self.tanks.values()]
        tanks = (
            tank.place if names.count(tank.place) == 1 else f"{name}.{tank.place}"
            for name, tank in self.tanks.items()
        )
        return (*still, *tanks, "room")

    @classmethod
    def drawn(cls, seed: int) -> "PlantSize":
        """Draw one: another still, room, weather and water, probes with errors of their own."""
        dice = Random(f"plant/{seed}")  # noqa: S311 - the same for the same seed
        base = cls()
        scale = dice.uniform(0.25, 2.0)
        still = _drawn_still(dice, base.still, scale)
        tanks = {
            name: replace(
                tank, size=replace(tank.size, loss_w_k=tank.size.loss_w_k * dice.uniform(0.6, 1.5))
            )
            for name, tank in base.tanks.items()
        }
        made = cls(
            still=still,
            tanks=tanks,
            weather=Weather.drawn(seed),
            coolant_c=dice.uniform(7.0, 20.0),
            recirculated_l=dice.choice((0.0, 0.0, still.volume_l * dice.uniform(25.0, 60.0))),
            pumped=dice.random() < 0.4,
            outlet_on_hose=dice.random() < 0.6,
            yeast_vigour=dice.uniform(0.3, 0.7),
            foaminess=dice.uniform(0.08, 0.3),
            room_c=dice.uniform(13.0, 26.0),
            lag_scale=dice.uniform(0.6, 1.8),
            noise_c=dice.uniform(0.02, 0.05),
        )
        errors = {
            place: ProbeError(1.0 + dice.gauss(0.0, 0.001), dice.gauss(0.0, 0.15))
            for place in made.places
        }
        return replace(made, errors=errors)


def _drawn_still(dice: Random, base: StillSize, scale: float) -> StillSize:
    """Draw a still: a bare pot, a few plates, or packing under a reflux condenser."""
    kind = dice.choice(("pot", "plates", "packing"))
    stages = {"pot": 0, "plates": dice.randint(1, 4), "packing": dice.randint(4, 8)}[kind]
    holdup_l = {"pot": 0.3, "plates": 0.5, "packing": 0.15}[kind]
    reflux = None
    if kind != "pot":
        reflux = CondenserSize(250.0 * scale, 40.0 * scale, 1.5 * scale, 900.0)
    product = base.product
    return replace(
        base,
        volume_l=base.volume_l * scale,
        metal_j_k=base.metal_j_k * scale * dice.uniform(0.7, 1.4),
        loss_w_k=base.loss_w_k * scale**0.67 * dice.uniform(0.5, 1.5),
        heat_source=dice.choice(("element", "flame", "steam")),
        efficiency=dice.uniform(0.75, 0.99),
        power_cycle_s=dice.choice((0.0, 0.0, 2.0, 12.0)),
        element_cover_l=base.element_cover_l * scale,
        stages=stages,
        stage_holdup_l=holdup_l * scale * dice.uniform(0.6, 1.5),
        stage_metal_j_k=base.stage_metal_j_k * scale,
        stage_loss_w_k=base.stage_loss_w_k * scale**0.67 * dice.uniform(0.4, 2.0),
        neck_holdup_l=base.neck_holdup_l * scale,
        neck_metal_j_k=base.neck_metal_j_k * scale,
        neck_loss_w_k=base.neck_loss_w_k * scale**0.67 * dice.uniform(0.4, 2.5),
        flood_mol_s=base.flood_mol_s * scale,
        drop_hpa_per_mol2_s2=base.drop_hpa_per_mol2_s2 / scale**2,
        product=replace(
            product,
            exchange_w_k=product.exchange_w_k * scale * dice.uniform(0.8, 1.6),
            cooling_w_k=product.cooling_w_k * scale * dice.uniform(0.7, 1.6),
            water_kg=product.water_kg * scale,
        ),
        reflux=reflux,
        head_probe=dice.choice(("before_reflux", "after_reflux")),
        spout_holdup_l=base.spout_holdup_l * scale * dice.uniform(0.5, 2.0),
    )
