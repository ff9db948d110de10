"""What is truly in the plant, kept beside what its probes say."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Holding:
    """What a vessel, or a lot that ran off, truly holds; volumes and strengths at 20 C."""

    temperature_c: float
    volume_l: float
    abv: float
    pure_alcohol_l: float
    sugar_g_l: float = 0.0
    sg: float = 1.0
    fraction_done: float = 0.0  # of the sugar that was there


@dataclass(frozen=True, slots=True)
class Truth:
    """Everything that estimates may be held against, at one second of the scenario."""

    t_s: float
    vessels: dict[str, Holding]
    lots: dict[str, Holding]  # by name, as collected; one the script names is there from the first
    stages: dict[str, str]  # what each vessel is doing
    vapour_abv: float  # over the pot, 0 while nothing boils
    spout_abv: float  # of what runs off, 0 while nothing does
    spout_l_min: float
    heat_w: float  # reaching the charge
    condensing_w: float  # taken by the product condenser's water
    still_hpa: float
    pressure_hpa: float
    collected_l: float  # since the charge
    collected_pure_l: float
    over_fraction: float  # of the charge's alcohol, collected
    column_pure_l: float  # held up between pot and receiver
    vented_pure_l: float  # gone as vapour, since the beginning
    with_gas_pure_l: float  # gone with what the ferments gave off
    taken_pure_l: float  # bottled, poured out or carried off
    foam_l: float
    troubles: tuple[str, ...]

    def row(self) -> dict[str, str]:
        """Give it as one line of a table: plain columns, numbers as text.

        The alcohol of all vessels and lots, of the column, and what is gone come to all there was.
        """
        found = {f"{name}.{part}": f"{getattr(one, part):.6g}"
                 for name, one in self.vessels.items()
                 for part in ("temperature_c", "volume_l", "abv", "pure_alcohol_l",
                              "sugar_g_l", "sg", "fraction_done")}  # fmt: skip
        found |= {f"{name}.stage": self.stages.get(name, "") for name in self.vessels}
        found |= {f"lot {name}.{part}": f"{getattr(one, part):.6g}"
                  for name, one in self.lots.items()
                  for part in ("volume_l", "abv", "pure_alcohol_l")}  # fmt: skip
        for name in (
            "vapour_abv", "spout_abv", "spout_l_min", "heat_w", "condensing_w", "still_hpa",
            "pressure_hpa", "collected_l", "collected_pure_l", "over_fraction",
            "column_pure_l", "vented_pure_l", "with_gas_pure_l", "taken_pure_l", "foam_l",
        ):  # fmt: skip
            found[name] = f"{getattr(self, name):.6g}"
        return found | {"troubles": " ".join(self.troubles)}


@dataclass(frozen=True, slots=True)
class Balance:
    """What the plant's books say: brought and made against here and gone."""

    ethanol_in_kg: float
    ethanol_found_kg: float
    heat_in_j: float
    heat_found_j: float

    @property
    def alcohol_error(self) -> float:
        """Relative difference of the alcohol; 0 of nothing."""
        return abs(self.ethanol_in_kg - self.ethanol_found_kg) / max(self.ethanol_in_kg, 1e-9)

    @property
    def energy_error(self) -> float:
        """Relative difference of the energy; 0 of nothing."""
        return abs(self.heat_in_j - self.heat_found_j) / max(abs(self.heat_in_j), 1.0)
