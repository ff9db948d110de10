"""The words of the record that routes share: kinds, cuts, purposes, and the fields of a gauging."""

from typing import Annotated, Any, Final, Literal, get_args

from pydantic import Field

from api.entries import Entry
from api.record.ledger import Way as Way  # noqa: PLC0414 - offered from here too
from calc.quantities import ABV, MASS, SPIRIT_TEMPERATURE, VOLUME
from logger.store.gauging import INSTRUMENTS

Wash = Literal["grain", "sugar", "fruit", "molasses", "other"]
Purpose = Literal["strip", "spirit", "single", "botanical", "feints", "cleaning", "sacrificial"]
MarkKind = Literal[
    "first_drop", "foreshots_end", "hearts", "tails", "end", "power", "note", "other"
]
Source = Literal["tap", "key", "button", "proposal", "refused"]  # refused: proposed, and not so
Cut = Literal["foreshots", "heads", "hearts", "tails", "feints"]
LotKind = Literal[
    "wash", "low_wines", "feints", "spirit", "backset", "blend", "cask", "bottles", "water",
    "other",
]  # fmt: skip
InstrumentName = Literal[
    "alcoholometer_20c", "alcoholometer_15c", "alcoholometer_60f", "hydrometer", "density_meter",
    "refractometer", "from_gravities",
]  # fmt: skip
assert set(get_args(InstrumentName)) == set(INSTRUMENTS)  # noqa: S101 - said in two places

MOST_NUMBER: Final = 9999

Volume = Annotated[float, Field(gt=0, le=VOLUME.high, allow_inf_nan=False)]
Mass = Annotated[float, Field(gt=0, le=MASS.high, allow_inf_nan=False)]
Reading = Annotated[float, Field(ge=ABV.low, le=ABV.high, allow_inf_nan=False)]
Celsius = Annotated[
    float,
    Field(ge=SPIRIT_TEMPERATURE.low, le=SPIRIT_TEMPERATURE.high, allow_inf_nan=False),
]
VolumeError = Annotated[float, Field(ge=0, le=VOLUME.high, allow_inf_nan=False)]
ReadingError = Annotated[float, Field(ge=0, le=20, allow_inf_nan=False)]
JarNumber = Annotated[int, Field(ge=1, le=MOST_NUMBER)]


class GaugedFields(Entry):
    """How much a liquid was found to be, as it was read.

    A reading needs the temperature of the liquid. A volume is at its own temperature where that
    is given, else at the reading's, else at 20 °C.
    """

    volume_l: Volume | None = None
    volume_temperature_c: Celsius | None = None
    volume_error_l: Annotated[
        VolumeError | None, Field(description="One standard error, where it is known.")
    ] = None
    mass_kg: Mass | None = None
    reading_abv: Annotated[Reading | None, Field(description="As the instrument shows it.")] = None
    temperature_c: Annotated[
        Celsius | None, Field(description="Of the liquid, as the strength was read.")
    ] = None
    instrument: InstrumentName | None = None
    reading_error_abv: ReadingError | None = None


GAUGED: Final = tuple(GaugedFields.model_fields)


def gauged(body: Any) -> dict[str, Any]:
    """Return the columns of a gauging."""
    return {name: getattr(body, name) for name in GAUGED}
