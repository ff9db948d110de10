"""Runs drawn by a seed: as many different ones as anybody wants, each the same for its seed.

Charge, strength, power and water are drawn to suit the plant that the same seed draws, so that
every script can be carried out. `during` is put in while the still runs: faults go there.
"""

from collections.abc import Callable, Mapping
from random import Random
from typing import Final

from logger.errors import PlantError
from logger.plant.parameters import PlantSize
from logger.plant.run import Run

_CHARGE_KJ_L: Final = 4.0 * 65.0  # to bring a litre to the boil
_KJ_LITRE_OF_WATER_K: Final = 4.186
_VAPOUR_C: Final = 79.0  # a reflux condenser's water leaves nearly as hot


def strip(seed: int, during: str = "") -> Run:
    """Strip a wash."""
    size, dice = PlantSize.drawn(seed), _dice(seed)
    litres = size.still.volume_l * dice.uniform(0.5, 0.72)
    boil_kw = _power_kw(size, litres, dice.uniform(45.0, 100.0))
    return Run(
        f"""
        stage still strip
        pour {litres:.1f} L of {dice.uniform(5.0, 12.0):.2f} % vol at 20 C into still
        collect into low wines
        heat still with {boil_kw:.3f} kW
        wait until pot above 70 C at most 8 h
        water on {_water_l_min(size, boil_kw, dice):.2f} L/min
        wait until spout below 60 % vol at most 4 h
        {during}
        wait until spout below {dice.uniform(2.0, 12.0):.1f} % vol at most 14 h
        {_END}
        """,
        size,
        start_s=float(dice.randrange(86_400)),
    )


def spirit(seed: int, during: str = "") -> Run:
    """Run spirit of low wines, under reflux where the still has it."""
    size, dice = PlantSize.drawn(seed), _dice(seed)
    litres = size.still.volume_l * dice.uniform(0.4, 0.8)
    heat_kw = _power_kw(size, litres, dice.uniform(50.0, 90.0))
    lost_kw = _lost_kw(size)
    boil_kw = max(heat_kw * dice.uniform(0.45, 0.8), 2.0 * lost_kw)
    water = _water_l_min(size, heat_kw, dice)
    back_kw = dice.uniform(0.35, 0.75) * (boil_kw * size.still.efficiency - lost_kw)
    back = back_kw / (_KJ_LITRE_OF_WATER_K * (_VAPOUR_C - size.coolant_c)) * 60.0
    reflux = f"reflux water {back:.3f} L/min" if size.still.reflux else ""
    abv = dice.uniform(20.0, 35.0)
    jar_l = litres * abv / 100.0 / 12.0
    return Run(
        f"""
        stage still spirit
        pour {litres:.1f} L of {abv:.2f} % vol at 18 C into still
        collect into foreshots
        heat still with {heat_kw:.3f} kW
        wait until pot above 70 C at most 8 h
        water on {water:.2f} L/min
        {reflux}
        wait until head above 70 C at most 4 h
        heat still with {boil_kw:.3f} kW
        wait until collected above {0.2 * jar_l:.3f} L at most 6 h
        collect into heads
        wait until collected above {1.5 * jar_l:.3f} L at most 6 h
        collect into hearts
        {during}
        wait until spout below {dice.uniform(55.0, 63.0):.1f} % vol at most 18 h
        collect into feints
        wait until spout below {dice.uniform(5.0, 20.0):.1f} % vol at most 10 h
        {_END}
        """,
        size,
        start_s=float(dice.randrange(86_400)),
    )


def ferment(seed: int, during: str = "") -> Run:
    """Ferment a sugar or grain wash."""
    size, dice = PlantSize.drawn(seed), _dice(seed)
    litres = size.tanks["fermenter 1"].size.volume_l * dice.uniform(0.35, 0.75)
    warm_c = dice.uniform(22.0, 32.0)
    return Run(
        f"""
        stage fermenter 1 ferment
        pour {litres:.1f} L at {warm_c:.1f} C into fermenter 1
        add {litres * dice.uniform(0.11, 0.2):.2f} kg sugar to fermenter 1
        pitch {litres * dice.uniform(0.6, 2.0):.0f} g yeast into fermenter 1
        cool fermenter 1 to {dice.uniform(28.0, 32.0):.1f} C
        wait 10 h
        {during}
        wait until fermenter 1 is done at most 12 d
        wait 12 h
        """,
        size,
        start_s=float(dice.randrange(86_400)),
    )


def mash(seed: int, during: str = "") -> Run:
    """Mash grain and cool it."""
    size, dice = PlantSize.drawn(seed), _dice(seed)
    litres = size.tanks["mash tun"].size.volume_l * dice.uniform(0.4, 0.65)
    grain_kg = litres / dice.uniform(2.8, 4.0)
    malt = dice.uniform(0.25, 0.5)
    return Run(
        f"""
        stage mash tun mash
        pour {litres:.1f} L at {dice.uniform(68.0, 74.0):.1f} C into mash tun
        add {grain_kg * (1 - malt):.2f} kg rye to mash tun
        add {grain_kg * malt:.2f} kg rye malt to mash tun
        {during}
        wait {dice.uniform(60.0, 120.0):.0f} min
        cool mash tun to {dice.uniform(24.0, 32.0):.1f} C
        wait 4 h
        stage mash tun empty
        """,
        size,
        start_s=float(dice.randrange(86_400)),
    )


KINDS: Final[Mapping[str, Callable[[int, str], Run]]] = {
    "mash": mash,
    "ferment": ferment,
    "strip": strip,
    "spirit": spirit,
}
_END: Final = """
        heat off
        wait until head below 55 C at most 12 h
        water off
        wait 1 h
        stage still empty
"""


def practice(kind: str, seed: int, during: str = "") -> Run:
    """Begin a run of a kind."""
    if kind not in KINDS:
        raise PlantError(f'"{kind}" cannot be practised; there are {", ".join(KINDS)}.')
    return KINDS[kind](seed, during)


def _dice(seed: int) -> Random:
    return Random(f"practice/{seed}")  # noqa: S311 - the same for the same seed


def _power_kw(size: PlantSize, litres: float, minutes: float) -> float:
    """Give the power that boils a charge in about so many minutes."""
    return litres * _CHARGE_KJ_L / (minutes * 60.0) / size.still.efficiency


def _lost_kw(size: PlantSize) -> float:
    """Give what a boiling still loses to its room, about."""
    still = size.still
    w_k = still.loss_w_k + still.stages * still.stage_loss_w_k + still.neck_loss_w_k
    return w_k * (_VAPOUR_C - size.room_c) / 1000.0


def _water_l_min(size: PlantSize, power_kw: float, dice: Random) -> float:
    """Give a flow that takes that power away with room to spare."""
    rise_k = min(dice.uniform(18.0, 32.0), 60.0 - size.coolant_c)
    return power_kw / (_KJ_LITRE_OF_WATER_K * rise_k) * 60.0
