"""Entries of the catalogue: the mash."""

from calc.catalogue.entry import Calculation
from calc.enzymes import enzyme_at
from calc.grist import grist
from calc.mash import liquor_temperature, mash_in, mash_loss
from calc.rests import cold_solids, rest_step
from calc.wort import mash_efficiency, wort

MASH = "Mash"

IODINE = (
    "Iodine test: a drop of clear mash and a drop of iodine on a white plate; blue-black is "
    "starch, so give it time. Husk and flour stay dark even when all is converted. Throw the "
    "drop away, never back into the mash: iodine is harmful (common practice, no source)."
)
SCALD = (
    "Liquor and mash scald, and a thick mash spits when it boils: lid, gloves, eyes; stir with a "
    "long paddle (common practice, no source)."
)
STIR = (
    "Stir well and wait some minutes before judging the temperature: cold pockets sink (common "
    "practice, no source)."
)
ENZYMES_DIE = (
    "Malt's enzymes are lost above about 78 °C: let cooked grain fall to the rest before the malt "
    "goes in (from memory)."
)
DUST = (
    "Grain dust explodes and harms lungs: no flame near the mill, and a mask; follow local codes "
    "(common practice, no source)."
)
SPARGE = "Sparge no hotter than 75 to 78 °C, or husk gives up its tannin (from memory)."

MASHED = {
    "grain_mass_kg": 100.0,
    "liquor_volume_l": 268.0,
    "grain_temperature_c": 18.0,
    "moisture_percent": 4.0,
    "vessel_mass_kg": 45.0,
    "vessel_material": "stainless-steel",
    "vessel_temperature_c": 18.0,
}
RYE_BILL = {"grains": ("rye", "pale-malt"), "masses_kg": (80.0, 20.0)}

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="liquor-temperature",
        function=liquor_temperature,
        subject=MASH,
        question="How hot must the liquor be for the mash to come to its rest?",
        answer=(
            "Liquor at {liquor_temperature_c} brings the mash to {target_temperature_c}, with "
            "{thickness_l_kg} of grain."
        ),
        example={"target_temperature_c": 64.0, **MASHED, "loss_k": 0.0},
        cautions=(SCALD, STIR),
    ),
    Calculation(
        name="mash-in",
        function=mash_in,
        subject=MASH,
        question="What temperature does the mash come to when the grain goes in?",
        answer=(
            "The mash comes to {temperature_c}, {fall_k} below the liquor; stir and wait before "
            "measuring."
        ),
        example={"liquor_temperature_c": 69.0, **MASHED, "loss_k": 0.0},
        cautions=(SCALD, STIR),
    ),
    Calculation(
        name="mash-loss",
        function=mash_loss,
        subject=MASH,
        question="How much does my vessel lose while mashing in?",
        answer=(
            "This mash lost {loss_k}; give that as the loss next time. Without it, it would have "
            "come to {expected_temperature_c}."
        ),
        example={"measured_temperature_c": 61.5, "liquor_temperature_c": 69.0, **MASHED},
        cautions=(STIR,),
    ),
    Calculation(
        name="cold-solids",
        function=cold_solids,
        subject=MASH,
        question="How far does a hot liquid fall when cold solids go in?",
        answer="It falls by {fall_k} to {temperature_c} once evenly mixed.",
        example={
            "liquor_temperature_c": 75.0,
            "liquor_volume_l": 60.0,
            "solids_mass_kg": 15.0,
            "solids_temperature_c": 15.0,
            "solids_heat_kj_kg_k": 1.7,
        },
        cautions=(SCALD, STIR),
    ),
    Calculation(
        name="rest-step",
        function=rest_step,
        subject=MASH,
        question="How much hot or cold water takes the mash to its next rest?",
        answer=(
            "Add {added_volume_l} at {added_temperature_c} to come to {target_temperature_c}; the "
            "mash then holds {thickness_l_kg} of grain. Without water, {heat_kwh} of heat does it."
        ),
        example={
            "mash_temperature_c": 52.0,
            "target_temperature_c": 64.0,
            "added_temperature_c": 98.0,
            "grain_mass_kg": 100.0,
            "liquor_volume_l": 268.0,
            "moisture_percent": 4.0,
            "vessel_mass_kg": 45.0,
            "vessel_material": "stainless-steel",
        },
        cautions=(SCALD, STIR),
    ),
    Calculation(
        name="grist",
        function=grist,
        subject=MASH,
        question="Does this grist convert itself, and what must be cooked first?",
        answer=(
            "At {diastatic_power_lintner} this grist {verdict}. To cook first for a rest at "
            "{rest_temperature_c}: {cook_first}."
        ),
        example={
            "grains": ("maize", "rye", "distillers-malt"),
            "masses_kg": (50.0, 30.0, 20.0),
            "rest_temperature_c": 64.0,
        },
        cautions=(IODINE, ENZYMES_DIE, SCALD, DUST),
    ),
    Calculation(
        name="enzyme",
        function=enzyme_at,
        subject=MASH,
        question="What does this enzyme do at this temperature?",
        answer=(
            "At {temperature_c}, {enzyme} {verdict}. It is at its best from {best_low_c} to "
            "{best_high_c}, at pH {ph_low} to {ph_high}, and lost above {lost_above_c}."
        ),
        example={"enzyme": "beta-amylase", "temperature_c": 64.0},
        cautions=(IODINE,),
    ),
    Calculation(
        name="wort",
        function=wort,
        subject=MASH,
        question="What gravity and volume will this grist give?",
        answer=(
            "Expect {volume_l} at a specific gravity of {sg} ({sg_low} to {sg_high}), with "
            "{extract_kg} of extract."
        ),
        example={
            **RYE_BILL,
            "liquor_volume_l": 400.0,
            "way": "on-the-grain",
            "absorption_l_kg": 1.0,
        },
        cautions=(IODINE, SPARGE),
    ),
    Calculation(
        name="mash-efficiency",
        function=mash_efficiency,
        subject=MASH,
        question="How much of the grain's extract did the mash get?",
        answer=(
            "The wort holds {extract_kg} of the {potential_kg} in the grain: an efficiency of "
            "{efficiency_percent}."
        ),
        example={**RYE_BILL, "volume_l": 440.0, "sg": 1.054},
        cautions=(IODINE,),
    ),
)
