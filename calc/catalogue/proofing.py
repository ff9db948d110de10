"""Entries of the catalogue: proofing and blending."""

from calc.blending import blend, botanicals, jars_for_target
from calc.catalogue.entry import Calculation, Curve
from calc.proofing import dilution, dilution_by_weight, dilution_warm_and_cold
from calc.proofing_steps import DURATION, addition, overshoot, schedule, schedule_curve
from calc.quantities import ABV, VOLUME

PROOFING = "Proofing"
BLENDING = "Blending"

MEASURE_AGAIN = (
    "Hold back the last of the water: stir, let the spirit come to rest and to 20 °C, measure, "
    "then add what is still wanted. Mixing warms it by some degrees and hides the true strength "
    "(common practice, no source)."
)
HAZE = (
    "Below about 46 % vol oils come out of solution and spirit turns hazy; add water slowly, both "
    "at the same temperature (trade notes, no source)."
)
OBSCURED = (
    "Sugar and oak extract hide strength from the alcoholometer, about 0.2 % vol for each gram in "
    "a litre: distil a sample and measure that (estimate; see obscuration)."
)
METHANOL = (
    "Strength says nothing of methanol, and taking off foreshots does not reliably remove it (from "
    "memory). Have spirit analysed before it is sold; follow local codes and licensed practice."
)
BOTANICAL = (
    "Some plants are poisonous or limited by law (thujone and coumarin: Regulation (EC) 1334/2008, "
    "Annex III, from memory). Use only what you know to be safe; follow local codes."
)
FIRE = (
    "Strong spirit gives off flammable vapour at room temperature (see flash-point): no flame or "
    "spark near the vessel; follow local codes."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="dilution",
        function=dilution,
        subject=PROOFING,
        question="How much water brings this spirit to bottling strength?",
        answer=(
            "Add {water_volume_l} of water ({water_mass_kg}): {final_volume_l} at {target_abv}, "
            "{contraction_l} less than spirit and water apart."
        ),
        example={
            "volume_l": 10.0,
            "abv": 65.0,
            "target_abv": 40.0,
            "temperature_c": 20.0,
            "reference_temperature_c": 20.0,
        },
        cautions=(MEASURE_AGAIN, HAZE, OBSCURED, FIRE),
    ),
    Calculation(
        name="dilution-warm-and-cold",
        function=dilution_warm_and_cold,
        subject=PROOFING,
        question="How much water, if spirit and water are not equally warm?",
        answer=(
            "Add {water_volume_l} of water at {water_temperature_c} ({water_mass_kg}): "
            "{final_volume_at_20_c_l} of {target_abv} once it is at 20 °C."
        ),
        example={
            "volume_l": 10.0,
            "abv": 65.0,
            "target_abv": 40.0,
            "temperature_c": 28.0,
            "water_temperature_c": 10.0,
        },
        cautions=(MEASURE_AGAIN, HAZE, OBSCURED, FIRE),
    ),
    Calculation(
        name="dilution-by-weight",
        function=dilution_by_weight,
        subject=PROOFING,
        question="How much water, if I go by the scale?",
        answer=(
            "Add water until the scale has gone up by {water_weight_kg} to {final_weight_kg}: "
            "{final_volume_at_20_c_l} of {target_abv} at 20 °C."
        ),
        example={"weight_in_air_kg": 100.0, "abv": 65.0, "target_abv": 40.0},
        cautions=(MEASURE_AGAIN, HAZE, OBSCURED, FIRE),
    ),
    Calculation(
        name="addition",
        function=addition,
        subject=PROOFING,
        question="How strong is it after I add this much water or spirit?",
        answer="It comes to {abv}: {final_volume_l}, {contraction_l} less than the two apart.",
        example={
            "volume_l": 10.0,
            "abv": 65.0,
            "added_volume_l": 6.25,
            "added_abv": 0.0,
            "temperature_c": 20.0,
        },
        cautions=(MEASURE_AGAIN, OBSCURED, FIRE),
    ),
    Calculation(
        name="overshoot",
        function=overshoot,
        subject=PROOFING,
        question="I added too much water: how much stronger spirit puts it right?",
        answer=(
            "Add {stronger_volume_l} of {stronger_abv}: {final_volume_l} of {target_abv}. {advice}"
        ),
        example={
            "volume_l": 100.0,
            "abv": 39.5,
            "target_abv": 40.0,
            "stronger_abv": 65.0,
            "temperature_c": 20.0,
        },
        cautions=(MEASURE_AGAIN, OBSCURED, FIRE),
    ),
    Calculation(
        name="proofing-schedule",
        function=schedule,
        subject=PROOFING,
        question="How much water do I add each day to bring it down slowly?",
        answer=(
            "In {duration_days}: {daily_water_volume_l}, down to {daily_abv}. In all "
            "{water_volume_l} of water and {final_volume_l} of spirit."
        ),
        example={
            "volume_l": 100.0,
            "abv": 63.0,
            "target_abv": 42.0,
            "daily_fall_abv": 2.0,
            "slow_from_abv": 50.0,
            "temperature_c": 20.0,
        },
        cautions=(MEASURE_AGAIN, HAZE, OBSCURED, FIRE),
        curve=Curve(
            of=schedule_curve,
            x="duration_days",
            lines=("abv",),
            fields={
                "duration_days": DURATION.called("Day"),
                "abv": ABV.called("Strength"),
                "water_volume_l": VOLUME.called("Water added so far"),
                "volume_l": VOLUME.called("Volume"),
            },
            title="Strength day by day",
        ),
    ),
    Calculation(
        name="blend",
        function=blend,
        subject=BLENDING,
        question="How strong, and how much, are these jars together?",
        answer="Together {volume_l} of {abv}, with {pure_alcohol_l} of pure alcohol.",
        example={
            "jar_volume_l": (1.0, 1.0, 1.0, 0.8),
            "jar_abv": (74.0, 71.5, 68.0, 63.0),
            "temperature_c": 20.0,
        },
        cautions=(METHANOL, FIRE),
    ),
    Calculation(
        name="jars-for-target",
        function=jars_for_target,
        subject=BLENDING,
        question="Which jars make the volume I want at the strength I want?",
        answer=(
            "Take jars {jars}: {blend_volume_l} of {blend_abv}. With {water_volume_l} of water "
            "{final_volume_l} of {final_abv}."
        ),
        example={
            "jar_volume_l": (1.0, 1.0, 1.0, 1.0, 0.8),
            "jar_abv": (76.0, 74.0, 71.5, 68.0, 63.0),
            "target_abv": 43.0,
            "target_volume_l": 5.0,
            "water": "as-needed",
            "temperature_c": 20.0,
        },
        cautions=(METHANOL, MEASURE_AGAIN, OBSCURED, FIRE),
        why="why",
    ),
    Calculation(
        name="botanicals",
        function=botanicals,
        subject=BLENDING,
        question="How much of each botanical does this charge want?",
        answer="Weigh out {botanical_g}, {total_g} in all, for {pure_alcohol_l} of pure alcohol.",
        example={
            "volume_l": 10.0,
            "abv": 40.0,
            "botanical_g_per_l": (20.0, 10.0, 1.0),
            "temperature_c": 20.0,
        },
        cautions=(BOTANICAL, FIRE),
    ),
)
