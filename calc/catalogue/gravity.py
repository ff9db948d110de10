"""Entries of the catalogue: gravity, and the alcohol it stands for."""

from calc.attenuation import alcohol_from_gravity, attenuation
from calc.catalogue.entry import Calculation
from calc.catalogue.fermentation import CLOSED_VESSEL
from calc.gravity import extract_of, sg_from_extract, sg_from_plato
from calc.hydrometer import hydrometer
from calc.potential import expected_alcohol, potential_alcohol, spirit_yield
from calc.sample import pulp_by_distilling, wash_by_distilling
from calc.sugar_wash import alcohol_by_mass, sugar_for_strength, sugar_wash

GRAVITY = "Gravity"
ALCOHOL = "Alcohol of a wash"

DEGAS = (
    "Shake or pour the gas out of a fermenting sample and let it come to 20 °C: bubbles lift the "
    "hydrometer (common practice, no source)."
)
FOR_BEER = (
    "Made for beer: for a wash of plain sugar it reads 5 to 10 % of the alcohol too little; use "
    "the mass balance there (see alcohol-by-mass)."
)
APPARENT = (
    "Once there is alcohol, the extract is apparent: alcohol makes it look smaller than it is."
)
SMALL_STILL = (
    "Distilling even a sample gives off flammable vapour and needs a licence in many places: "
    "running coolant, no flame, and follow local codes and licensed practice."
)
STONES = (
    "Stone fruit: crushed stones give hydrogen cyanide and ethyl carbamate; take them out. Fruit "
    "spirits also hold methanol, which foreshots do not reliably remove (from memory): have them "
    "analysed, follow local codes."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="plato",
        function=extract_of,
        subject=GRAVITY,
        question="How many degrees Plato is this specific gravity?",
        answer="{sg} is {plato}: {extract_g_l} of extract.",
        example={"sg": 1.056},
        cautions=(APPARENT,),
    ),
    Calculation(
        name="specific-gravity",
        function=sg_from_plato,
        subject=GRAVITY,
        question="What specific gravity is this in degrees Plato?",
        answer="{plato} is a specific gravity of {sg}.",
        example={"plato": 13.8},
        cautions=(APPARENT,),
    ),
    Calculation(
        name="extract-gravity",
        function=sg_from_extract,
        subject=GRAVITY,
        question="What gravity does this much sugar give in this volume?",
        answer="{extract_kg} in {volume_l} of wort gives a specific gravity of {sg}.",
        example={"extract_kg": 1.0, "volume_l": 10.0},
    ),
    Calculation(
        name="hydrometer",
        function=hydrometer,
        subject=GRAVITY,
        question="What is the true gravity behind a warm or cold reading?",
        answer=(
            "{reading_sg} read at {temperature_c} is truly {sg} ({plato}): {correction_sg} added."
        ),
        example={
            "reading_sg": 1.052,
            "temperature_c": 31.0,
            "reference_temperature_c": 20.0,
        },
        cautions=(DEGAS,),
    ),
    Calculation(
        name="attenuation",
        function=attenuation,
        subject=GRAVITY,
        question="How far has this wort fermented?",
        answer=(
            "Apparently {apparent_attenuation_percent} of its extract has gone, really "
            "{real_attenuation_percent}; {real_plato} is left."
        ),
        example={"original_sg": 1.056, "final_sg": 1.002},
        cautions=(DEGAS, FOR_BEER),
    ),
    Calculation(
        name="alcohol-from-gravity",
        function=alcohol_from_gravity,
        subject=ALCOHOL,
        question="How strong is this malt or grain wash, from its gravities?",
        answer="The wash holds {abv}, by Balling's relation.",
        example={"original_sg": 1.056, "final_sg": 1.002},
        cautions=(FOR_BEER, DEGAS),
    ),
    Calculation(
        name="alcohol-by-mass",
        function=alcohol_by_mass,
        subject=ALCOHOL,
        question="How strong is this wash of sugar, from its gravities?",
        answer=(
            "The wash holds {abv}: {fermented_percent} of its sugar has fermented and "
            "{residual_sugar_g_l} is left. It ends near {complete_sg}."
        ),
        example={"original_sg": 1.072, "final_sg": 0.992},
        cautions=(DEGAS,),
    ),
    Calculation(
        name="sugar-wash",
        function=sugar_wash,
        subject=ALCOHOL,
        question="How strong will this much sugar make a wash?",
        answer=(
            "{sugar_mass_kg} gives {pure_alcohol_l} of pure alcohol, {abv} in {volume_l}; it "
            "starts at {original_sg}."
        ),
        example={"sugar_mass_kg": 15.0, "volume_l": 80.0, "yield_percent": 90.0},
        cautions=(CLOSED_VESSEL,),
    ),
    Calculation(
        name="sugar-for-strength",
        function=sugar_for_strength,
        subject=ALCOHOL,
        question="How much sugar makes a wash of this strength?",
        answer=(
            "Dissolve {sugar_mass_kg} in {water_volume_l} of water for {volume_l} of wash; it "
            "starts at {original_sg} and comes to {abv}."
        ),
        example={"abv": 9.0, "volume_l": 80.0, "yield_percent": 90.0},
        cautions=(CLOSED_VESSEL,),
    ),
    Calculation(
        name="potential-alcohol",
        function=potential_alcohol,
        subject=ALCOHOL,
        question="How much alcohol can this bill of grain, sugar and fruit give?",
        answer=(
            "Expect {pure_alcohol_l} of pure alcohol ({pure_alcohol_low_l} to "
            "{pure_alcohol_high_l}), {abv} in {volume_l} ({abv_low} to {abv_high})."
        ),
        example={
            "ingredients": ("rye", "pale-malt", "molasses"),
            "masses_kg": (60.0, 20.0, 10.0),
            "volume_l": 400.0,
        },
        cautions=(STONES, CLOSED_VESSEL),
    ),
    Calculation(
        name="spirit-yield",
        function=spirit_yield,
        subject=ALCOHOL,
        question="What spirit yield do the laboratory's figures predict?",
        answer=(
            "{fermentable_extract_percent} of fermentable extract gives {spirit_yield_l_t} of "
            "pure alcohol."
        ),
        example={"extract_percent": 78.0, "fermentability_percent": 87.0},
    ),
    Calculation(
        name="expected-alcohol",
        function=expected_alcohol,
        subject=ALCOHOL,
        question="How strong will a wash get that starts at this gravity?",
        answer="Starting at {original_sg}, expect {abv_low} to {abv_high}.",
        example={"original_sg": 1.056, "wash": "malt"},
        cautions=(CLOSED_VESSEL,),
    ),
    Calculation(
        name="sample-distillation",
        function=wash_by_distilling,
        subject=ALCOHOL,
        question="How strong is this wash, by distilling a measured sample?",
        answer="The wash holds {abv}; the distillate, made up, {distillate_abv}.",
        example={
            "sample_volume_ml": 500.0,
            "distillate_volume_ml": 500.0,
            "reading_abv": 8.6,
            "temperature_c": 18.0,
            "sample_temperature_c": 20.0,
            "reference_temperature_c": 20.0,
            "glass": "soda-lime",
        },
        cautions=(SMALL_STILL, DEGAS),
    ),
    Calculation(
        name="pulp-distillation",
        function=pulp_by_distilling,
        subject=ALCOHOL,
        question="How much alcohol is in this pulp, by distilling a weighed sample?",
        answer=(
            "The pulp holds {pure_alcohol_l_100_kg} of pure alcohol; the distillate, made up, "
            "{distillate_abv}."
        ),
        example={
            "sample_mass_g": 400.0,
            "distillate_volume_ml": 400.0,
            "reading_abv": 5.2,
            "temperature_c": 18.0,
            "reference_temperature_c": 20.0,
            "glass": "soda-lime",
        },
        cautions=(SMALL_STILL, STONES),
    ),
)
