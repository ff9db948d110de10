"""Entries of the catalogue: boiling."""

from calc.boiling import (
    azeotrope_at,
    azeotrope_line,
    boiling_lines,
    boiling_point,
    dew_point,
)
from calc.catalogue.entry import Calculation, Curve
from calc.pressure import (
    STANDARD_HPA,
    STILL_PRESSURE,
    pressure_at_altitude,
    water_boiling_point,
)
from calc.quantities import ABV, TEMPERATURE

SUBJECT = "Boiling"

STATION = (
    "Use the barometer where the still stands; a forecast's figure is reduced to sea level and at "
    "1000 m is 115 hPa too high, which moves a boiling point by 3 K (ISO 2533:1975)."
)
STEAM = (
    "To check a probe, hold it in the steam just over boiling water, not against the pot; steam "
    "scalds (common practice, no source)."
)
WEATHER = (
    "Weather moves it by up to 30 hPa, which moves the head by 0.75 K: enter today's sea-level "
    "pressure, or better a barometer's own reading (ISO 2533:1975)."
)
CLOSED = (
    "A still is open to the air somewhere, always: a blocked outlet, or a vacuum in a vessel not "
    "made for one, bursts or crushes it (common practice, no source). Follow local codes."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="boiling-point",
        function=boiling_point,
        subject=SUBJECT,
        question="When does this wash or spirit boil, and how strong is its vapour?",
        answer="{abv} boils at {temperature_c}, and its first vapour condenses to {vapour_abv}.",
        example={"abv": 9.0, "pressure_hpa": STANDARD_HPA},
        cautions=(STATION, CLOSED),
        curve=Curve(
            of=boiling_lines,
            x="abv",
            lines=("boils_c", "condenses_c"),
            fields={
                "abv": ABV,
                "boils_c": TEMPERATURE.called("Liquid of this strength boils"),
                "condenses_c": TEMPERATURE.called("Vapour of this strength condenses"),
            },
            title="Boiling and condensing against strength",
        ),
    ),
    Calculation(
        name="dew-point",
        function=dew_point,
        subject=SUBJECT,
        question="What will the head show when this strength comes over?",
        answer=(
            "Vapour of {vapour_abv} condenses at {temperature_c}; it boils from, and first "
            "condenses to, {liquid_abv}."
        ),
        example={"vapour_abv": 90.0, "pressure_hpa": STANDARD_HPA},
        cautions=(STATION,),
    ),
    Calculation(
        name="azeotrope",
        function=azeotrope_at,
        subject=SUBJECT,
        question="What is the strongest that distilling can reach here?",
        answer=(
            "No column passes {abv}, which boils at {temperature_c}; pure ethanol at "
            "{ethanol_boiling_c}, water at {water_boiling_c}."
        ),
        example={"pressure_hpa": STANDARD_HPA},
        cautions=(CLOSED,),
        curve=Curve(
            of=azeotrope_line,
            x="still_pressure_hpa",
            lines=("abv", "temperature_c"),
            fields={
                "still_pressure_hpa": STILL_PRESSURE,
                "abv": ABV.called("Strength of the azeotrope"),
                "temperature_c": TEMPERATURE.called("Azeotrope boils at"),
            },
            title="The azeotrope against absolute pressure",
        ),
    ),
    Calculation(
        name="water-boiling-point",
        function=water_boiling_point,
        subject=SUBJECT,
        question="What should a probe read in boiling water today?",
        answer="Under {pressure_hpa} water boils at {temperature_c}.",
        example={"pressure_hpa": STANDARD_HPA},
        cautions=(
            STATION,
            STEAM,
        ),
    ),
    Calculation(
        name="pressure-at-altitude",
        function=pressure_at_altitude,
        subject=SUBJECT,
        question="I have no barometer: what is the pressure at my altitude?",
        answer=(
            "At {altitude_m} the air has about {pressure_hpa} when the weather service says "
            "{sea_level_pressure_hpa}."
        ),
        example={"altitude_m": 1000.0, "sea_level_pressure_hpa": STANDARD_HPA},
        cautions=(WEATHER,),
    ),
)
