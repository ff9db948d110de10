"""Entries of the catalogue: ageing, bottling and duty."""

from calc.ageing import TIME, angels_share, angels_share_curve, cask_by_weight, cask_loss
from calc.bottling import bottles, duty, fill_tolerance, label_tolerance
from calc.catalogue.alcoholometry import CONTENTS, GAUGING, OBSCURED
from calc.catalogue.entry import Calculation, Curve
from calc.quantities import PURE_ALCOHOL

AGEING = "Ageing"
BOTTLING = "Bottling and duty"

AUTHORITY = (
    "What may be sold, and how it is measured, taxed and labelled, is for your authority to say; "
    "follow local codes and licensed practice (27 CFR part 19; Regulation (EU) 1169/2011)."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="cask-by-weight",
        function=cask_by_weight,
        subject=AGEING,
        question="What does this cask hold, by its weight?",
        answer=CONTENTS,
        example={"gross_kg": 230.0, "tare_kg": 50.0, "abv": 60.0, "temperature_c": 20.0},
        cautions=(OBSCURED, GAUGING),
    ),
    Calculation(
        name="cask-loss",
        function=cask_loss,
        subject=AGEING,
        question="How much has this cask lost since it was filled?",
        answer=(
            "It has lost {lost_pure_alcohol_l} of pure alcohol, {loss_percent}, which is "
            "{loss_percent_per_year}; strength has moved by {abv_change}."
        ),
        example={
            "filled_volume_l": 200.0,
            "filled_abv": 63.5,
            "volume_l": 188.0,
            "abv": 62.0,
            "duration_years": 4.0,
        },
        cautions=(OBSCURED, GAUGING),
    ),
    Calculation(
        name="angels-share",
        function=angels_share,
        subject=AGEING,
        question="What will a cask of this size lose over the years?",
        answer=(
            "A cask of {cask_l} may lose {loss_percent_per_year}: {lost_pure_alcohol_l} of pure "
            "alcohol in {duration_years}, leaving {pure_alcohol_l}."
        ),
        example={
            "volume_l": 50.0,
            "abv": 60.0,
            "cask_l": 50.0,
            "duration_years": 3.0,
            "usual_loss_percent_per_year": 2.0,
        },
        curve=Curve(
            of=angels_share_curve,
            x="duration_years",
            lines=("pure_alcohol_l",),
            fields={
                "duration_years": TIME.within(0, 100),
                "pure_alcohol_l": PURE_ALCOHOL.called("Pure alcohol left"),
            },
            title="Pure alcohol left in the cask",
        ),
    ),
    Calculation(
        name="bottles",
        function=bottles,
        subject=BOTTLING,
        question="How many bottles does this fill?",
        answer=(
            "{bottle_count} full, each to {fill_ml} at {temperature_c}, and {left_over_l} left "
            "over. A bottle holds {bottle_pure_alcohol_l} of pure alcohol."
        ),
        example={"volume_l": 100.0, "abv": 40.0, "temperature_c": 20.0, "bottle_ml": 700.0},
        cautions=(AUTHORITY,),
    ),
    Calculation(
        name="label-tolerance",
        function=label_tolerance,
        subject=BOTTLING,
        question="Is the strength I found near enough to the label?",
        answer="{verdict} {abv} found; from {lowest_abv} to {highest_abv} bears the label out.",
        example={"label_abv": 40.0, "abv": 39.85},
        cautions=(OBSCURED, AUTHORITY),
    ),
    Calculation(
        name="fill-tolerance",
        function=fill_tolerance,
        subject=BOTTLING,
        question="Is this bottle full enough?",
        answer=(
            "{verdict} {content_at_20_c_ml} at 20 °C is {difference_ml} against the nominal "
            "{bottle_ml}; the tolerance is {tolerance_ml}."
        ),
        example={
            "bottle_ml": 700.0,
            "content_ml": 697.0,
            "abv": 40.0,
            "temperature_c": 20.0,
            "rules": "eu",
        },
        cautions=(AUTHORITY,),
    ),
    Calculation(
        name="duty",
        function=duty,
        subject=BOTTLING,
        question="What does duty come to at this rate?",
        answer="{pure_alcohol_l} of pure alcohol: duty is {duty_money}.",
        example={"volume_l": 840.0, "abv": 40.0, "duty_per_l": 10.0},
        cautions=(AUTHORITY, GAUGING),
    ),
)
