"""A place where liquid stands, warms, boils and condenses: the pot, a plate, the head, a tank."""

from typing import Final, NamedTuple

from calc.alcoholometry import abw_from_abv, density
from logger.plant.fluid import ETHANOL_KG_L, ETHANOL_KG_MOL, WATER_KG_MOL, Fluid, Liquid

_MOST_BOILED: Final = 0.9  # of what stands there, in one step
_CLOSE_K: Final = 1e-7
_NOTHING_MOL: Final = 1e-12


class Flow(NamedTuple):
    """So many moles of ethanol and water on their way, and the heat they carry."""

    ethanol_mol: float = 0.0
    water_mol: float = 0.0
    heat_j: float = 0.0

    @property
    def mol(self) -> float:
        """Moles, together."""
        return self.ethanol_mol + self.water_mol

    @property
    def fraction(self) -> float:
        """Mole fraction of ethanol; 0 of nothing."""
        mol = self.ethanol_mol + self.water_mol
        return self.ethanol_mol / mol if mol > _NOTHING_MOL else 0.0

    def plus(self, other: "Flow") -> "Flow":
        """Give both together."""
        return Flow(
            self.ethanol_mol + other.ethanol_mol,
            self.water_mol + other.water_mol,
            self.heat_j + other.heat_j,
        )

    def share(self, part: float) -> "Flow":
        """Give a part of it."""
        return Flow(self.ethanol_mol * part, self.water_mol * part, self.heat_j * part)


NOTHING: Final = Flow()


class Cell:
    """Liquid and the metal around it at one temperature; amounts and heat are what is kept.

    Boiling is found, not integrated: whatever heat there is beyond that of the boiling liquid
    leaves as vapour within the step, so no step is too long for it, and vapour itself takes up
    no room (quasi-steady).
    """

    __slots__ = (
        "_liquid", "_liquid_x", "ethanol_mol", "fluid", "heat_j", "metal_j_k", "solids_k",
        "temperature_c", "water_mol",
    )  # fmt: skip

    def __init__(self, fluid: Fluid, metal_j_k: float, temperature_c: float) -> None:
        self.fluid = fluid
        self.metal_j_k = metal_j_k
        self.temperature_c = temperature_c
        self.ethanol_mol = self.water_mol = 0.0
        self.heat_j = metal_j_k * temperature_c
        self.solids_k = 0.0  # how much dissolved matter raises the boiling point
        self._liquid_x = 0.0
        self._liquid = fluid.liquid(0.0)

    @property
    def mol(self) -> float:
        """Moles of liquid."""
        return self.ethanol_mol + self.water_mol

    @property
    def fraction(self) -> float:
        """Mole fraction of ethanol; 0 where there is no liquid."""
        mol = self.ethanol_mol + self.water_mol
        return self.ethanol_mol / mol if mol > _NOTHING_MOL else 0.0

    @property
    def ethanol_kg(self) -> float:
        """Ethanol in it."""
        return self.ethanol_mol * ETHANOL_KG_MOL

    @property
    def water_kg(self) -> float:
        """Water in it."""
        return self.water_mol * WATER_KG_MOL

    @property
    def pure_alcohol_l(self) -> float:
        """Pure alcohol in it, litres at 20 C."""
        return self.ethanol_kg / ETHANOL_KG_L

    @property
    def volume_l(self) -> float:
        """The liquid's volume at 20 C."""
        return self.mol * self.fluid.litres_mol(self.fraction)

    @property
    def abv(self) -> float:
        """Strength, % vol at 20 C, dissolved matter left out; 0 where there is no liquid."""
        volume_l = self.volume_l
        return 100.0 * self.pure_alcohol_l / volume_l if volume_l > _NOTHING_MOL else 0.0

    def take(self, flow: Flow) -> None:
        """Let something flow in."""
        self.ethanol_mol += flow.ethanol_mol
        self.water_mol += flow.water_mol
        self.heat_j += flow.heat_j

    def settle(self) -> None:
        """Find the temperature that the heat in it means."""
        mol = self.ethanol_mol + self.water_mol
        if mol <= _NOTHING_MOL:
            self.temperature_c = self.heat_j / self.metal_j_k
            return
        liquid = self._liquid_of(self.ethanol_mol / mol)
        t = self.temperature_c
        for _ in range(20):
            excess = self.heat_j - mol * liquid.heat(t) - self.metal_j_k * t
            step = excess / (mol * liquid.capacity(t) + self.metal_j_k)
            t += step
            if -_CLOSE_K < step < _CLOSE_K:
                break
        self.temperature_c = t

    def boil(self, hpa: float) -> Flow:
        """Let go the vapour that the heat in it raises at a pressure, and find the temperature."""
        mol = self.ethanol_mol + self.water_mol
        if mol <= _NOTHING_MOL:
            self.settle()
            return NOTHING
        x = self.ethanol_mol / mol
        boiling = self.fluid.boil(x, hpa)
        t = boiling.temperature_c + self.solids_k
        liquid = self._liquid_of(x)
        excess = self.heat_j - mol * liquid.heat(t) - self.metal_j_k * t
        if excess <= 0.0:
            self.settle()
            return NOTHING
        y = boiling.vapour
        carried = self.fluid.vapour_heat(y, t)
        # As ethanol goes the boiling point rises, and that takes heat as well.
        warming = (liquid.capacity(t) + self.metal_j_k / mol) * -boiling.slope_k * (y - x)
        needed = carried - liquid.heat(t) + max(warming, 0.0)
        gone = min(excess / needed, _MOST_BOILED * mol)
        ethanol = min(gone * y, _MOST_BOILED * self.ethanol_mol)
        vapour = Flow(ethanol, gone - gone * y, gone * carried)
        self.ethanol_mol -= vapour.ethanol_mol
        self.water_mol -= vapour.water_mol
        self.heat_j -= vapour.heat_j
        self.temperature_c = t
        return vapour

    def give(self, mol: float) -> Flow:
        """Let some of the liquid out, at its temperature."""
        all_mol = self.ethanol_mol + self.water_mol
        if mol <= 0.0 or all_mol <= _NOTHING_MOL:
            return NOTHING
        part = min(mol / all_mol, 1.0)
        liquid = self._liquid_of(self.ethanol_mol / all_mol)
        heat = all_mol * part * liquid.heat(self.temperature_c)
        flow = Flow(self.ethanol_mol * part, self.water_mol * part, heat)
        self.ethanol_mol -= flow.ethanol_mol
        self.water_mol -= flow.water_mol
        self.heat_j -= heat
        return flow

    def over(self, mol: float) -> Flow:
        """Let out what stands above a level."""
        return self.give(self.ethanol_mol + self.water_mol - mol)

    def cool(self, w_k: float, room_c: float, dt_s: float) -> float:
        """Lose heat to a room; gives the joules lost. Never beyond the room's temperature."""
        capacity = self.capacity_j_k
        part = w_k * dt_s / capacity
        lost = capacity * (self.temperature_c - room_c) * (part / (1.0 + part))
        self.heat_j -= lost
        return lost

    @property
    def capacity_j_k(self) -> float:
        """Heat that a kelvin takes."""
        mol = self.ethanol_mol + self.water_mol
        if mol <= _NOTHING_MOL:
            return self.metal_j_k
        liquid = self._liquid_of(self.ethanol_mol / mol)
        return self.metal_j_k + mol * liquid.capacity(self.temperature_c)

    def _liquid_of(self, x: float) -> Liquid:
        """Find a liquid's heat, anew only where its strength has changed."""
        if x != self._liquid_x:
            self._liquid_x, self._liquid = x, self.fluid.liquid(x)
        return self._liquid


def liquid_flow(fluid: Fluid, ethanol_mol: float, water_mol: float, temperature_c: float) -> Flow:
    """Give a liquid at a temperature as a flow."""
    mol = ethanol_mol + water_mol
    x = ethanol_mol / mol if mol > 0 else 0.0
    return Flow(ethanol_mol, water_mol, mol * fluid.liquid(x).heat(temperature_c))


def mixture(fluid: Fluid, volume_l: float, abv: float, temperature_c: float) -> Flow:
    """Give a volume (at 20 C) of a strength at a temperature, as a flow."""
    abw = float(abw_from_abv(abv))
    mass_kg = volume_l * float(density(abw, 20.0)) / 1000.0
    ethanol_mol = mass_kg * abw / ETHANOL_KG_MOL
    return liquid_flow(fluid, ethanol_mol, mass_kg * (1.0 - abw) / WATER_KG_MOL, temperature_c)


def moles_of_water_to(ethanol_mol: float, abv: float) -> float:
    """Give the water that goes with some ethanol in a strength."""
    abw = float(abw_from_abv(abv))
    return ethanol_mol * ETHANOL_KG_MOL * (1.0 - abw) / abw / WATER_KG_MOL
