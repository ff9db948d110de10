"""What was read of a liquid, made into volume and strength at 20 °C; everything goes through calc.

Only what was read counts here. A strength a liquid was not read at is given by whoever knows it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import hypot
from typing import Final

from calc.alcoholometer import true_strength
from calc.contents import contents_by_volume, contents_by_weight
from calc.errors import OutOfRangeError
from logger.errors import ConflictError, RangeError
from logger.store.record_tables import Gauged

# Ethanol and water boil off together at 97.2 % vol at 1013 hPa: no still gives more.
# Mole fraction 0.8975, see calc.alcoholometry.abv_from_mole_fraction.
MOST_DISTILLED_ABV: Final = 97.2
# Of what nobody stated: one mark of a usual vessel's scale or dipstick; a scale for kilograms.
VOLUME_ERROR_FRACTION: Final = 0.01  # common practice, no source
MASS_ERROR_FRACTION: Final = 0.002  # common practice, no source
ROUNDING_L: Final = 1e-6
SIXTY_F_C: Final = 15.56


@dataclass(frozen=True, slots=True)
class Instrument:
    """What strength is read with; without a reference it allows for the temperature itself."""

    label: str
    reference_c: float | None
    low_abv: float
    high_abv: float
    error_abv: float  # one standard error where nobody states it; common practice, no source


INSTRUMENTS: Final[Mapping[str, Instrument]] = {
    "alcoholometer_20c": Instrument("alcoholometer for 20 °C", 20.0, 0, 100, 0.3),
    "alcoholometer_15c": Instrument("alcoholometer for 15 °C", 15.0, 0, 100, 0.3),
    "alcoholometer_60f": Instrument("alcoholometer for 60 °F", SIXTY_F_C, 0, 100, 0.3),
    "hydrometer": Instrument("hydrometer for 20 °C, short scale", 20.0, 0, 100, 1.0),
    "density_meter": Instrument("density meter", None, 0, 100, 0.05),
    "refractometer": Instrument("refractometer", None, 0, 80, 1.0),
    "from_gravities": Instrument("worked out from two gravities", None, 0, 25, 0.3),
}
USUAL: Final = "alcoholometer_20c"


@dataclass(frozen=True, slots=True)
class Strength:
    """% vol at 20 °C, with one standard error."""

    abv: float
    error_abv: float


WATER: Final = Strength(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Content:
    """A volume at 20 °C with its strength, each with one standard error; either may be unknown."""

    volume_l: float | None
    volume_error_l: float | None
    strength: Strength | None

    @property
    def pure_alcohol_l(self) -> float | None:
        """Litres of pure alcohol at 20 °C."""
        if self.volume_l is None or self.strength is None:
            return None
        return self.volume_l * self.strength.abv / 100.0

    @property
    def pure_alcohol_error_l(self) -> float | None:
        """One standard error: u² = (abv u_V)² + (V u_abv)², after JCGM 100:2008, 5.1.2."""
        if self.volume_l is None or self.strength is None:
            return None
        by_volume = self.strength.abv * (self.volume_error_l or 0.0)
        return hypot(by_volume, self.volume_l * self.strength.error_abv) / 100.0


def strength_of(read: Gauged) -> Strength | None:
    """Correct a reading to 20 °C; None where nothing was read.

    Raises RangeError where the temperature is missing or the reading outside the instrument's
    range, OutOfRangeError where no spirit reads so at that temperature.
    """
    if read.reading_abv is None:
        return None
    if read.temperature_c is None:
        raise RangeError(
            "A strength needs the temperature it was read at; give temperature_c.",
            field="temperature_c",
        )
    instrument = INSTRUMENTS[read.instrument or USUAL]
    check_on_scale(read.reading_abv, instrument)
    stated = read.reading_error_abv
    return Strength(
        _at_20_c(read.reading_abv, read.temperature_c, instrument.reference_c),
        instrument.error_abv if stated is None else stated,
    )


def check_on_scale(reading_abv: float, instrument: Instrument) -> None:
    """Raise where an instrument cannot show a reading."""
    low, high = instrument.low_abv, instrument.high_abv
    if not low <= reading_abv <= high:
        raise RangeError(
            f"The reading is {reading_abv:g} % vol; this instrument ({instrument.label}) shows "
            f"{low:g} to {high:g}. Correct the reading, or choose the instrument it was read with.",
            field="reading_abv",
        )


def check_distilled(strength: Strength | None) -> None:
    """Raise where a strength is above what a still can give."""
    if strength is not None and round(strength.abv, 2) > MOST_DISTILLED_ABV:
        raise RangeError(
            f"This comes to {strength.abv:.1f} % vol at 20 °C, and distilling gives no more than "
            f"{MOST_DISTILLED_ABV:g}; check the reading and its temperature.",
            field="reading_abv",
        )


def content_of(
    read: Gauged, strength: Strength | None = None, *, tare_kg: float | None = 0.0
) -> Content | None:
    """Give what was read at 20 °C; `strength` is used where none was read.

    None where neither a volume nor a mass was read, or the mass cannot be freed of its jar.
    """
    known = strength_of(read) or strength
    if read.mass_kg is not None and tare_kg is not None:
        return _by_mass(read, read.mass_kg - tare_kg, known)
    if read.volume_l is not None:
        return _by_volume(read, read.volume_l, known)
    return None if known is None else Content(None, None, known)


def temperature_of_volume_c(read: Gauged) -> float:
    """Return the temperature a volume was measured at."""
    own = read.volume_temperature_c
    given = own if own is not None else read.temperature_c
    return 20.0 if given is None else given


def check_drawn(name: str, held: Content | None, drawn: Iterable[Gauged]) -> None:
    """Raise where more was taken from a quantity than there was."""
    if held is None or held.volume_l is None:
        return
    left_l = held.volume_l
    for one in drawn:
        if left_l <= ROUNDING_L:
            raise ConflictError(
                f"Nothing is left in {name}: all its {held.volume_l:.3f} L went elsewhere already.",
                field="from_lot",
            )
        taken = content_of(one, held.strength)
        left_l -= left_l if taken is None or taken.volume_l is None else taken.volume_l
        if left_l < -ROUNDING_L:
            raise ConflictError(
                f"{name} held {held.volume_l:.3f} L at 20 °C, and what was taken from it comes to "
                f"{held.volume_l - left_l:.3f} L; correct one of the volumes.",
                field="volume_l" if one.mass_kg is None else "mass_kg",
            )


def _by_mass(read: Gauged, mass_kg: float, strength: Strength | None) -> Content:
    if mass_kg < 0:
        raise RangeError(
            f"The scale showed {read.mass_kg:g} kg, less than the empty jar; correct the mass, or "
            "the jar's tare.",
            field="mass_kg",
        )
    if strength is None:
        return Content(None, None, None)  # a mass of unknown strength has no volume
    volume_l = _volume_of_weight(mass_kg, strength.abv)
    stated = read.volume_error_l
    return Content(volume_l, MASS_ERROR_FRACTION * volume_l if stated is None else stated, strength)


def _by_volume(read: Gauged, volume_l: float, strength: Strength | None) -> Content:
    stated = read.volume_error_l
    error_l = VOLUME_ERROR_FRACTION * volume_l if stated is None else stated
    if strength is None:
        return Content(volume_l, error_l, None)
    at_20_l = _volume_at_20_c(volume_l, strength.abv, temperature_of_volume_c(read))
    return Content(at_20_l, error_l, strength)


@lru_cache(maxsize=10_000)
def _at_20_c(reading_abv: float, temperature_c: float, reference_c: float | None) -> float:
    if reference_c is None:
        return reading_abv
    try:
        return true_strength(reading_abv, temperature_c, reference_c).abv_at_20_c
    except OutOfRangeError as error:
        raise RangeError(str(error), field=error.quantity) from error


@lru_cache(maxsize=10_000)
def _volume_at_20_c(volume_l: float, abv: float, temperature_c: float) -> float:
    try:
        return contents_by_volume(volume_l, abv, temperature_c).volume_at_20_c_l
    except OutOfRangeError as error:
        raise RangeError(str(error), field="temperature_c") from error


@lru_cache(maxsize=10_000)
def _volume_of_weight(mass_kg: float, abv: float) -> float:
    return contents_by_weight(mass_kg, abv).volume_at_20_c_l
