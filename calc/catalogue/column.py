"""Entries of the catalogue: the column."""

from calc.catalogue.boiling import CLOSED
from calc.catalogue.distillation import CHARGE, COOLANT
from calc.catalogue.entry import Calculation, Curve
from calc.catalogue.hazards import FIRE
from calc.column import (
    DRAWING_REFLUX,
    TOP_ABV,
    minimum_reflux,
    reflux_for_strength,
    reflux_stages,
    reflux_steps,
    total_reflux_stages,
    total_reflux_steps,
)
from calc.column_output import (
    column_output,
    column_output_line,
    column_stages,
    height_per_plate,
)
from calc.heat import SPOUT_ML_MIN
from calc.pressure import STANDARD_HPA
from calc.quantities import MOLE_FRACTION

SUBJECT = "Column"

_STEPS = {
    "liquid_mole_fraction": MOLE_FRACTION.called("Ethanol in the liquid"),
    "vapour_mole_fraction": MOLE_FRACTION.called("Vapour over it"),
    "operating_mole_fraction": MOLE_FRACTION.called("Vapour meeting it between stages"),
    "stage_mole_fraction": MOLE_FRACTION.called("Stages"),
}
_STEP_LINES = ("vapour_mole_fraction", "operating_mole_fraction", "stage_mole_fraction")
_SETTLED = (
    "Holds for the pot as it is, in a column at rest: as the pot weakens, return more (McCabe & "
    "Thiele 1925)."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="total-reflux-stages",
        function=total_reflux_stages,
        subject=SUBJECT,
        question="How many stages does this strength take when everything is returned?",
        answer="{stages} theoretical stages, the pot included, lift {pot_abv} to {top_abv}.",
        example={"pot_abv": 30.0, "top_abv": 93.0, "pressure_hpa": STANDARD_HPA},
        cautions=(_SETTLED, COOLANT),
        curve=Curve(
            of=total_reflux_steps,
            x="liquid_mole_fraction",
            lines=_STEP_LINES,
            fields=_STEPS,
            title="Stages at total reflux",
        ),
    ),
    Calculation(
        name="reflux-stages",
        function=reflux_stages,
        subject=SUBJECT,
        question="How many stages does this strength take at the reflux ratio I run?",
        answer=(
            "{stages} theoretical stages, the pot included; {stages_at_total_reflux} if everything "
            "were returned, and no column does it at less than {minimum_reflux_ratio} to 1."
        ),
        example={
            "pot_abv": 30.0,
            "top_abv": 93.0,
            "reflux_ratio": 3.0,
            "pressure_hpa": STANDARD_HPA,
        },
        cautions=(_SETTLED, COOLANT),
        curve=Curve(
            of=reflux_steps,
            x="liquid_mole_fraction",
            lines=_STEP_LINES,
            fields=_STEPS,
            title="Stages at this reflux ratio",
        ),
    ),
    Calculation(
        name="minimum-reflux",
        function=minimum_reflux,
        subject=SUBJECT,
        question="How little can I return and still reach this strength?",
        answer=(
            "No column, however tall, lifts {pot_abv} to {top_abv} at less than {reflux_ratio} "
            "returned to 1 drawn."
        ),
        example={"pot_abv": 30.0, "top_abv": 95.0, "pressure_hpa": STANDARD_HPA},
        cautions=(_SETTLED,),
    ),
    Calculation(
        name="reflux-ratio",
        function=reflux_for_strength,
        subject=SUBJECT,
        question="How much must I return to hold this strength with my column?",
        answer="Return {reflux_ratio} for each part drawn.",
        example={"pot_abv": 30.0, "top_abv": 93.0, "stages": 8.0, "pressure_hpa": STANDARD_HPA},
        cautions=(_SETTLED, COOLANT),
    ),
    Calculation(
        name="column-stages",
        function=column_stages,
        subject=SUBJECT,
        question="How many stages does my packing make?",
        answer="{packed_height_m} of it with the pot makes {stages} theoretical stages.",
        example={"packed_height_m": 1.2, "height_per_plate_m": 0.15},
        cautions=(CLOSED,),
    ),
    Calculation(
        name="height-per-plate",
        function=height_per_plate,
        subject=SUBJECT,
        question="What height of my packing makes one plate, by a test at total reflux?",
        answer="One theoretical plate takes {height_per_plate_m} of it.",
        example={
            "packed_height_m": 0.6,
            "pot_abv": 30.0,
            "top_abv": 93.0,
            "pressure_hpa": STANDARD_HPA,
        },
        cautions=(COOLANT, CLOSED),
    ),
    Calculation(
        name="column-output",
        function=column_output,
        subject=SUBJECT,
        question="How strong and how fast does my column run at this power and reflux?",
        answer=(
            "{top_abv} at {spout_ml_min}, with the head at {head_temperature_c}; the column "
            "carries {vapour_kg_h} of vapour."
        ),
        example={
            "pot_abv": 30.0,
            "stages": 8.0,
            "reflux_ratio": 3.0,
            "power_kw": 2.0,
            "heat_loss_kw": 0.2,
            "pressure_hpa": STANDARD_HPA,
        },
        cautions=(_SETTLED, CHARGE, COOLANT, FIRE),
        curve=Curve(
            of=column_output_line,
            x="reflux_ratio",
            lines=("top_abv", "spout_ml_min"),
            fields={
                "reflux_ratio": DRAWING_REFLUX,
                "top_abv": TOP_ABV,
                "spout_ml_min": SPOUT_ML_MIN,
            },
            title="Strength and rate against the reflux ratio",
        ),
    ),
)
