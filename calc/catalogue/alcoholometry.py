"""Entries of the catalogue: alcoholometry."""

from calc.alcoholometer import (
    expected_reading,
    obscured_strength,
    strength_from_density,
    strength_from_weighing,
    true_strength,
    true_strength_curve,
)
from calc.alcoholometry import density
from calc.catalogue.entry import Calculation, Curve
from calc.contents import contents_by_volume, contents_by_weight
from calc.quantities import ABV, SPIRIT_TEMPERATURE
from calc.strength import (
    strength_from_abv,
    strength_from_abw,
    strength_from_mole_fraction,
    strength_from_us_proof,
)
from calc.us_gauging import us_gauge

SUBJECT = "Alcoholometry"

OBSCURED = (
    "Sugar and oak extract make alcoholometer, balance and densimeter show too little: about "
    "0.2 % vol for each gram in a litre (estimate from the density of dissolved sucrose, from "
    "memory). For a label or for duty distil a sample and measure the distillate; follow local "
    "codes."
)
GAUGING = (
    "Duty is reckoned by the tables of the authority, which may differ from these figures in the "
    "fourth digit (27 CFR part 30 by about 0.01 %); follow local codes."
)

STRENGTHS = (
    "{abv} at 20 °C, {abv_at_60_f} at 60 °F or {us_proof} in the United States; {abw_fraction} by "
    "mass, {ethanol_mole_fraction} by mole, {density_kg_m3} at 20 °C."
)
CONTENTS = (
    "It holds {pure_alcohol_l} of pure alcohol ({us_proof_gal}): {volume_at_20_c_l} at 20 °C, "
    "{weight_in_air_kg} on the scale."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="density",
        function=density,
        subject=SUBJECT,
        question="How heavy is a litre of this spirit at this temperature?",
        answer="Its density at {temperature_c} is {density_kg_m3}, in vacuo.",
        example={"abw_fraction": 0.333, "temperature_c": 20.0},
    ),
    Calculation(
        name="true-strength",
        function=true_strength,
        subject=SUBJECT,
        question="What is the true strength behind this alcoholometer reading?",
        answer=(
            "{reading_abv} read at {temperature_c} is truly {abv} at the instrument's "
            "temperature, {abv_at_20_c} at 20 °C."
        ),
        example={
            "reading_abv": 40.0,
            "temperature_c": 25.0,
            "reference_temperature_c": 20.0,
            "glass": "soda-lime",
        },
        cautions=(OBSCURED,),
        curve=Curve(
            of=true_strength_curve,
            x="temperature_c",
            lines=("abv",),
            fields={
                "temperature_c": SPIRIT_TEMPERATURE.called("Temperature of the spirit"),
                "abv": ABV.called("True strength at the instrument's temperature"),
            },
            title="What this reading stands for at other temperatures",
        ),
    ),
    Calculation(
        name="expected-reading",
        function=expected_reading,
        subject=SUBJECT,
        question="What should the alcoholometer read in spirit of this strength?",
        answer="Spirit of {abv} at {temperature_c} reads {reading_abv}.",
        example={
            "abv": 40.0,
            "temperature_c": 25.0,
            "reference_temperature_c": 20.0,
            "glass": "soda-lime",
        },
        cautions=(OBSCURED,),
    ),
    Calculation(
        name="strength-from-abv",
        function=strength_from_abv,
        subject=SUBJECT,
        question="What is this strength by volume, said in the other ways?",
        answer=STRENGTHS,
        example={"abv": 40.0, "reference_temperature_c": 20.0},
    ),
    Calculation(
        name="strength-from-us-proof",
        function=strength_from_us_proof,
        subject=SUBJECT,
        question="What is this US proof in percent by volume?",
        answer=STRENGTHS,
        example={"us_proof": 80.0},
    ),
    Calculation(
        name="strength-from-abw",
        function=strength_from_abw,
        subject=SUBJECT,
        question="What is this strength by mass in percent by volume?",
        answer=STRENGTHS,
        example={"abw_fraction": 0.333},
    ),
    Calculation(
        name="strength-from-mole-fraction",
        function=strength_from_mole_fraction,
        subject=SUBJECT,
        question="What is this mole fraction of ethanol in percent by volume?",
        answer=STRENGTHS,
        example={"ethanol_mole_fraction": 0.163},
    ),
    Calculation(
        name="strength-from-density",
        function=strength_from_density,
        subject=SUBJECT,
        question="What strength does this density mean?",
        answer=STRENGTHS,
        example={"density_kg_m3": 948.05, "temperature_c": 20.0},
        cautions=(OBSCURED,),
    ),
    Calculation(
        name="strength-from-weighing",
        function=strength_from_weighing,
        subject=SUBJECT,
        question="What strength does the weight of a measured volume mean?",
        answer=STRENGTHS,
        example={
            "weighed_g": 94.7,
            "volume_ml": 100.0,
            "temperature_c": 20.0,
            "air_density_kg_m3": 1.2,
        },
        cautions=(OBSCURED,),
    ),
    Calculation(
        name="obscuration",
        function=obscured_strength,
        subject=SUBJECT,
        question="How much strength do sugar and oak hide from the alcoholometer?",
        answer="With {dissolved_g_l} dissolved it is truly {abv}: {hidden_abv} is hidden.",
        example={"apparent_abv": 38.0, "dissolved_g_l": 10.0},
        cautions=(OBSCURED,),
    ),
    Calculation(
        name="spirit-by-volume",
        function=contents_by_volume,
        subject=SUBJECT,
        question="How much pure alcohol is in this volume, and what is it at 20 °C?",
        answer=CONTENTS,
        example={"volume_l": 100.0, "abv": 40.0, "temperature_c": 28.0},
        cautions=(GAUGING,),
    ),
    Calculation(
        name="spirit-by-weight",
        function=contents_by_weight,
        subject=SUBJECT,
        question="How many litres, and how much pure alcohol, does this weight make?",
        answer="{weight_in_air_kg} on the scale is {volume_l} at {temperature_c}, "
        "{volume_at_20_c_l} at 20 °C, and holds {pure_alcohol_l} of pure alcohol ({us_proof_gal}).",
        example={"weight_in_air_kg": 100.0, "abv": 63.5, "temperature_c": 20.0},
        cautions=(GAUGING,),
    ),
    Calculation(
        name="us-gauging",
        function=us_gauge,
        subject=SUBJECT,
        question="How many wine and proof gallons is this weight of spirit in the United States?",
        answer=(
            "{weight_in_air_kg} at {us_proof} are {us_wine_gal} and {us_proof_gal}; "
            "with {water_in_air_kg} of water they come to {reached_us_proof}."
        ),
        example={"weight_in_air_kg": 200.0, "us_proof": 130.0, "target_us_proof": 90.0},
        cautions=(GAUGING,),
    ),
)
