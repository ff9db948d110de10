"""A quantity of ethanol and water, kept by mass: masses add where volumes do not."""

from dataclasses import dataclass
from functools import lru_cache

from calc.alcoholometry import abv_from_abw, abw_from_abv, density
from calc.errors import OutOfRangeError


@lru_cache(maxsize=5000)  # books ask for the same strengths again and again
def _weighed(
    abv: float, temperature_c: float, reference_temperature_c: float
) -> tuple[float, float]:
    abw = abw_from_abv(abv, reference_temperature_c)
    return abw, density(abw, temperature_c)


@dataclass(frozen=True, slots=True)
class Mixture:
    """So much ethanol and so much water, at no temperature in particular.

    Examples
    --------
    >>> both = Mixture.of_volume(50.0, 100.0) + Mixture.of_volume(50.0, 0.0)
    >>> round(both.volume_l(20.0), 2), round(both.pure_alcohol_l, 9)
    (96.46, 50.0)
    """

    ethanol_kg: float
    water_kg: float

    @classmethod
    def of_mass(cls, mass_kg: float, abw_fraction: float) -> "Mixture":
        """Return a mass of a strength by mass."""
        return cls(mass_kg * abw_fraction, mass_kg * (1.0 - abw_fraction))

    @classmethod
    def of_volume(
        cls,
        volume_l: float,
        abv: float,
        temperature_c: float = 20.0,
        reference_temperature_c: float = 20.0,
    ) -> "Mixture":
        """Return a volume, measured at a temperature, of a strength by volume."""
        abw, kg_m3 = _weighed(abv, temperature_c, reference_temperature_c)
        return cls.of_mass(volume_l * kg_m3 / 1000.0, abw)

    @classmethod
    def of_water(cls, mass_kg: float) -> "Mixture":
        """Return a mass of water."""
        return cls(0.0, mass_kg)

    def __add__(self, other: "Mixture") -> "Mixture":
        return Mixture(self.ethanol_kg + other.ethanol_kg, self.water_kg + other.water_kg)

    def water_to_reach(self, abw_fraction: float) -> float:
        """Return the mass of water that brings it to a strength by mass; negative if weaker."""
        return self.ethanol_kg / abw_fraction - self.mass_kg

    def check_some(self, quantity: str) -> None:
        """Refuse nothing at all: it has no strength."""
        if self.mass_kg <= 0:
            raise OutOfRangeError(
                f"The volumes ({quantity}) come to 0 L, which has no strength; at least one must "
                "lie above 0 L.",
                quantity=quantity,
            )

    @property
    def mass_kg(self) -> float:
        """Its mass."""
        return self.ethanol_kg + self.water_kg

    @property
    def abw_fraction(self) -> float:
        """Its strength by mass; there must be some of it."""
        return self.ethanol_kg / self.mass_kg

    @property
    def pure_alcohol_l(self) -> float:
        """The volume of its ethanol at 20 C."""
        return self.ethanol_kg / density(1.0, 20.0) * 1000.0

    def volume_l(self, temperature_c: float) -> float:
        """Return its volume at a temperature."""
        return 1000.0 * self.mass_kg / density(self.abw_fraction, temperature_c)

    def abv(self, reference_temperature_c: float = 20.0) -> float:
        """Return its strength by volume."""
        return abv_from_abw(self.abw_fraction, reference_temperature_c)
