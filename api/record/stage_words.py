"""What may be entered of a mash, a ferment, a cask and at bottling: one model for each kind."""

from typing import Annotated, Literal, Self
from uuid import UUID

from pydantic import AwareDatetime, Field, model_validator

from api.entries import Entry, Text
from api.record.entering import Note, SmellWords
from api.record.words import Celsius, Mass, Reading, Volume
from calc.hydrometer import HYDROMETER_TEMPERATURE
from calc.potential import Ingredient
from calc.quantities import REFERENCE_TEMPERATURE, SG

Warm = Annotated[float, Field(ge=-20, le=110, allow_inf_nan=False)]
OfHydrometer = Annotated[
    float,
    Field(ge=HYDROMETER_TEMPERATURE.low, le=HYDROMETER_TEMPERATURE.high, allow_inf_nan=False),
]
Gravity = Annotated[float, Field(ge=SG.low, le=SG.high, allow_inf_nan=False)]
Reference = Annotated[
    float,
    Field(
        ge=REFERENCE_TEMPERATURE.low, le=REFERENCE_TEMPERATURE.high, allow_inf_nan=False,
    ),
]  # fmt: skip
Percent = Annotated[float, Field(ge=1, le=100, allow_inf_nan=False)]
Minutes = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]


class Said(Entry):
    """What every entry of a stage says."""

    id: UUID | None = None
    at: Annotated[AwareDatetime | None, Field(description="Null: now.")] = None
    batch: Annotated[Text | None, Field(description="The batch's name.")] = None
    vessel_id: UUID | None = None
    lot_id: UUID | None = None
    text: Note = ""

    @model_validator(mode="after")
    def _of_something(self) -> Self:
        if self.batch is None and self.vessel_id is None and self.lot_id is None:
            raise ValueError("This is of nothing; give batch, vessel_id or lot_id.")
        return self


class Grain(Said):
    """A part of the bill; its extract by certificate is better than the table's."""

    kind: Literal["grain"]
    name: Ingredient
    mass_kg: Mass
    percent: Annotated[Percent | None, Field(description="Extract, by certificate.")] = None


class Liquor(Said):
    """Water onto the mash."""

    kind: Literal["liquor"]
    volume_l: Volume
    temperature_c: Warm | None = None


class Rest(Said):
    """A rest from `at` on; the minutes held are counted from the probe."""

    kind: Literal["rest"]
    name: Text = "rest"
    low_c: Warm
    high_c: Warm
    planned_min: Minutes | None = None
    ended_at: AwareDatetime | None = None

    @model_validator(mode="after")
    def _range(self) -> Self:
        if self.low_c >= self.high_c:
            raise ValueError(
                f"low_c is {self.low_c:g} °C and high_c {self.high_c:g}; give a range that rises."
            )
        return self


class VolumeRead(Said):
    """A volume of mash, wort or wash."""

    kind: Literal["volume"]
    volume_l: Volume
    temperature_c: Warm | None = None


class GravityRead(Said):
    """A hydrometer's reading in a sample of a temperature."""

    kind: Literal["gravity"]
    reading_sg: Gravity
    temperature_c: OfHydrometer
    reference_temperature_c: Reference = 20.0


class SpoutRead(Said):
    """The strength of what runs from a still's spout, read at `at`; the estimates learn from it."""

    kind: Literal["spout"]
    vessel_id: UUID
    reading_abv: Reading
    temperature_c: Celsius


class Iodine(Said):
    """The iodine test: blue says that starch is left."""

    kind: Literal["iodine"]
    starch_left: bool


class Yeast(Said):
    """The yeast, pitched at `at`."""

    kind: Literal["yeast"]
    name: Text
    mass_kg: Mass


class Nutrient(Said):
    """What feeds the yeast."""

    kind: Literal["nutrient"]
    name: Text
    mass_kg: Mass


class Acidity(Said):
    """A pH."""

    kind: Literal["ph"]
    ph: Annotated[float, Field(ge=0, le=14, allow_inf_nan=False)]
    temperature_c: Warm | None = None


class Smell(Said):
    """How it smells or tastes."""

    kind: Literal["smell"]
    smell: Annotated[SmellWords, Field(min_length=1)]


class CaskWeight(Said):
    """A cask on the scale."""

    kind: Literal["cask_weight"]
    lot_id: UUID
    mass_kg: Annotated[Mass, Field(description="Full.")]
    tare_kg: Annotated[Mass, Field(description="Empty.")]
    reading_abv: Reading | None = None
    temperature_c: Celsius | None = None


class Sample(Said):
    """A sample taken; it leaves the books."""

    kind: Literal["sample"]
    lot_id: UUID
    volume_l: Volume
    temperature_c: Celsius | None = None


class TopUp(Said):
    """A cask or vessel topped up from another lot."""

    kind: Literal["top_up"]
    lot_id: UUID
    refers: Annotated[UUID, Field(description="The lot it came from.")]
    volume_l: Volume
    temperature_c: Celsius | None = None


class WaterAdded(Said):
    """Water added to bring spirit to strength, weighed or measured."""

    kind: Literal["water_added"]
    lot_id: UUID
    mass_kg: Mass | None = None
    volume_l: Volume | None = None
    temperature_c: Celsius | None = None

    @model_validator(mode="after")
    def _one_of_them(self) -> Self:
        if (self.mass_kg is None) == (self.volume_l is None):
            raise ValueError("Give the water's mass_kg or its volume_l, one of them.")
        return self


class BottleFill(Said):
    """Bottles filled from a lot, which are a lot of their own: `name`, the code on the label."""

    kind: Literal["bottle_fill"]
    lot_id: UUID
    name: Text
    count: Annotated[int, Field(ge=1, le=1_000_000)]
    volume_l: Annotated[Volume, Field(description="In each.")]
    reading_abv: Reading
    temperature_c: Celsius


StageBody = Annotated[
    Grain | Liquor | Rest | VolumeRead | GravityRead | SpoutRead | Iodine | Yeast | Nutrient
    | Acidity | Smell | CaskWeight | Sample | TopUp | WaterAdded | BottleFill,
    Field(discriminator="kind"),
]  # fmt: skip
Kind = Literal[
    "grain", "liquor", "rest", "volume", "gravity", "spout", "iodine", "yeast", "nutrient", "ph",
    "smell", "cask_weight", "sample", "top_up", "water_added", "bottle_fill", "correction",
    "tick", "proofing", "reference", "follows",
]  # fmt: skip
