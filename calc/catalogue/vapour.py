"""Entries of the catalogue: strength from temperature."""

from calc.catalogue.boiling import STATION
from calc.catalogue.entry import Calculation, Curve
from calc.catalogue.hazards import FIRE
from calc.pressure import STANDARD_HPA
from calc.quantities import EXPECTED_ABV
from calc.vapour_strength import (
    ABV_HIGH,
    ABV_LOW,
    HEAD_TEMPERATURE,
    POT_ASSUMES,
    POT_TEMPERATURE,
    VAPOUR_ASSUMES,
    pot_strength,
    pot_strength_line,
    vapour_strength,
    vapour_strength_line,
)

SUBJECT = "Strength from temperature"

NO_CUT_BY_IT = (
    "It is no assay: cut by nose, taste and alcoholometer, and never judge methanol by temperature "
    "(common practice, no source). Spirit for sale is gauged as your authority says; follow local "
    "codes."
)
_BAND = {"abv": EXPECTED_ABV, "abv_low": ABV_LOW, "abv_high": ABV_HIGH}

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="vapour-strength",
        function=vapour_strength,
        subject=SUBJECT,
        question="How strong is what comes over, by the head temperature?",
        answer=(
            "{abv} at the head, and with 95 % confidence between {abv_low} and {abv_high}, if the "
            "vapour is saturated and has no air in it."
        ),
        example={
            "head_temperature_c": 84.0,
            "pressure_hpa": STANDARD_HPA,
            "temperature_error_c": 0.5,
            "pressure_error_hpa": 3.0,
        },
        cautions=(VAPOUR_ASSUMES, STATION, NO_CUT_BY_IT, FIRE),
        curve=Curve(
            of=vapour_strength_line,
            x="head_temperature_c",
            lines=("abv",),
            fields={"head_temperature_c": HEAD_TEMPERATURE, **_BAND},
            band=("abv_low", "abv_high"),
            title="Strength of vapour against head temperature",
        ),
        why="why",
    ),
    Calculation(
        name="pot-strength",
        function=pot_strength,
        subject=SUBJECT,
        question="How strong is what is left in the pot, by its temperature?",
        answer=(
            "{abv} in the pot, and with 95 % confidence between {abv_low} and {abv_high}, if it "
            "boils and holds ethanol and water only."
        ),
        example={
            "pot_temperature_c": 95.0,
            "pressure_hpa": STANDARD_HPA,
            "temperature_error_c": 0.5,
            "pressure_error_hpa": 3.0,
        },
        cautions=(POT_ASSUMES, STATION, FIRE),
        curve=Curve(
            of=pot_strength_line,
            x="pot_temperature_c",
            lines=("abv",),
            fields={"pot_temperature_c": POT_TEMPERATURE, **_BAND},
            band=("abv_low", "abv_high"),
            title="Strength in the pot against its temperature",
        ),
        why="why",
    ),
)
