"""Entries of the catalogue: fermentation."""

from calc.catalogue.entry import Calculation, Curve
from calc.ferment_gas import carbon_dioxide
from calc.fermentation import PEAK, TIME, fermentation_curve, fermentation_heat, safe_start
from calc.yeast import yeast_amount

FERMENTATION = "Fermentation"

SUFFOCATION = (
    "Carbon dioxide suffocates without warning and lies low: 5,000 ppm is the usual 8 h limit, "
    "15,000 (United Kingdom) or 30,000 ppm (United States) over a short time. Air the room at "
    "floor level, keep a gas alarm, never lean or climb into a fermenter; follow local codes."
)
CLOSED_VESSEL = (
    "Never seal a fermenting vessel: the gas must be able to leave (common practice, no source)."
)
HOT_YEAST = (
    "Ordinary yeast suffers above 35 °C, spirit yeasts above 38, a few above 42 (common "
    "practice, no source; the yeast's own data sheet decides). Large vessels need cooling."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="fermentation-heat",
        function=fermentation_heat,
        subject=FERMENTATION,
        question="How much heat does this ferment give, and how warm does it get?",
        answer=(
            "{heat_mj} of heat, {peak_power_low_w} to {peak_power_high_w} at its fastest: the wash "
            "rises by {rise_low_k} to {rise_high_k}, to {peak_temperature_c} at most."
        ),
        example={
            "sugar_mass_kg": 15.0,
            "volume_l": 80.0,
            "fermented_percent": 95.0,
            "start_temperature_c": 25.0,
            "room_temperature_c": 22.0,
            "wall": "bare",
        },
        cautions=(HOT_YEAST, SUFFOCATION),
        curve=Curve(
            of=fermentation_curve,
            x="time_h",
            lines=("lively_c", "quiet_c"),
            fields={
                "time_h": TIME,
                "lively_c": PEAK.called("Lively ferment"),
                "quiet_c": PEAK.called("Quiet ferment"),
            },
            title="Temperature of the wash over a week",
        ),
    ),
    Calculation(
        name="start-temperature",
        function=safe_start,
        subject=FERMENTATION,
        question="How warm may this ferment start without getting too hot?",
        answer=(
            "Pitch at {start_temperature_c} or below: a lively ferment then comes to "
            "{highest_temperature_c} after {peak_after_h}."
        ),
        example={
            "sugar_mass_kg": 15.0,
            "volume_l": 80.0,
            "room_temperature_c": 22.0,
            "yeast": "ordinary",
            "fermented_percent": 95.0,
            "wall": "bare",
        },
        cautions=(HOT_YEAST,),
    ),
    Calculation(
        name="carbon-dioxide",
        function=carbon_dioxide,
        subject=FERMENTATION,
        question="How much gas does this ferment give, and how much air does it need?",
        answer=(
            "{co2_volume_l} of carbon dioxide in all, {peak_low_l_h} to {peak_high_l_h} at its "
            "fastest: give the room {ventilation_m3_h} of fresh air."
        ),
        example={"sugar_mass_kg": 15.0, "limit_ppm": 5000.0},
        cautions=(SUFFOCATION, CLOSED_VESSEL),
    ),
    Calculation(
        name="yeast-amount",
        function=yeast_amount,
        subject=FERMENTATION,
        question="How much yeast does this wash take?",
        answer=(
            "{dry_yeast_low_g} to {dry_yeast_high_g} of dry yeast, or {pressed_yeast_low_g} to "
            "{pressed_yeast_high_g} of pressed yeast."
        ),
        example={"volume_l": 80.0, "pitch": "ordinary"},
    ),
)
