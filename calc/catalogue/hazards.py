"""Entries of the catalogue: hazards."""

from calc.catalogue.entry import Calculation, Curve
from calc.hazards import FLASH_POINT, charge_limit, fill_limit, flash_point, flash_point_curve
from calc.quantities import ABV
from calc.room_air import (
    CO2,
    CONCENTRATION,
    HOURS,
    MINUTES,
    co2_in_room,
    co2_in_room_curve,
    vapour_escape,
    vapour_escape_curve,
)

SUBJECT = "Hazards"

FIRE = (
    "Ethanol vapour burns at 3.3 to 19 % vol in air and explodes in a closed space; no flame, "
    "spark or hot surface near spirit, and the still under an outlet to the open air (NIOSH Pocket "
    "Guide, 2007). Follow local codes and licensed practice."
)
FLOOR = (
    "Vapour is heavier than air and gathers on the floor and in drains: a mixed-room figure is "
    "never a safe time. Stop the heat, then ventilate without switching anything in the room "
    "(common practice, no source). Follow local codes."
)
CO2_KILLS = (
    "Carbon dioxide gives no warning and gathers low down: never go into a fermenter, pit or "
    "cellar on the strength of a figure. 5,000 ppm over eight hours; 15,000 ppm (EH40/2005, United "
    "Kingdom) or 30,000 ppm (NIOSH, United States) short term. Fit a detector; follow local codes."
)
FOAM = (
    "A pot too full foams over into the condenser and may block it: watch the first boil, and keep "
    "a way for pressure to leave always open (common practice, no source). Follow local codes."
)
LAWFUL = (
    "Distilling without a permit is unlawful in many places (27 CFR 19.51; a licence is required "
    "in the United Kingdom); follow local codes and licensed practice."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="flash-point",
        function=flash_point,
        subject=SUBJECT,
        question="From what temperature can spirit of this strength catch fire?",
        answer=(
            "At {abv} the flash point is {flash_point_c}; treat it as flammable from "
            "{flammable_from_c}."
        ),
        example={"abv": 60.0},
        cautions=(FIRE,),
        curve=Curve(
            of=flash_point_curve,
            x="abv",
            lines=("flash_point_c", "flammable_from_c"),
            fields={
                "abv": ABV,
                "flash_point_c": FLASH_POINT,
                "flammable_from_c": FLASH_POINT.called("Plan as flammable from"),
            },
            title="Flash point against strength",
        ),
    ),
    Calculation(
        name="vapour-escape",
        function=vapour_escape,
        subject=SUBJECT,
        question="If the condenser fails, how long until the room is dangerous?",
        answer="{verdict} {ethanol_vapour_l_min} of ethanol vapour is let out.",
        example={"power_kw": 2.0, "abv": 60.0, "room_m3": 30.0, "ventilation_m3_h": 0.0},
        cautions=(FIRE, FLOOR, LAWFUL),
        curve=Curve(
            of=vapour_escape_curve,
            x="duration_min",
            lines=("ethanol_percent",),
            fields={"duration_min": MINUTES, "ethanol_percent": CONCENTRATION},
            title="Ethanol vapour in the air of the room",
        ),
    ),
    Calculation(
        name="co2-in-room",
        function=co2_in_room,
        subject=SUBJECT,
        question="Is the air fit to breathe beside my fermenters?",
        answer=(
            "{verdict} In the end it comes to {co2_ppm}; fresh air of {ventilation_m3_h} keeps "
            "below the limit over eight hours."
        ),
        example={"co2_l_h": 200.0, "room_m3": 40.0, "air_changes_per_h": 0.5},
        cautions=(CO2_KILLS,),
        curve=Curve(
            of=co2_in_room_curve,
            x="duration_h",
            lines=("co2_ppm",),
            fields={"duration_h": HOURS, "co2_ppm": CO2},
            title="Carbon dioxide in the air of the room",
        ),
    ),
    Calculation(
        name="fill-limit",
        function=fill_limit,
        subject=SUBJECT,
        question="How full may the pot be?",
        answer="Fill to {cautious_volume_l} to be cautious, {most_volume_l} at most.",
        example={"pot_l": 30.0, "wash": "wash"},
        cautions=(FOAM, LAWFUL),
    ),
    Calculation(
        name="charge-limit",
        function=charge_limit,
        subject=SUBJECT,
        question="Is this charge weak enough to boil?",
        answer="{verdict} Water to add: {water_volume_l}, which makes {final_volume_l}.",
        example={"volume_l": 10.0, "abv": 65.0, "temperature_c": 20.0},
        cautions=(FIRE, LAWFUL),
    ),
)
