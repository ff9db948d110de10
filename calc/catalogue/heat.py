"""Entries of the catalogue: heat and cooling."""

from calc.catalogue.distillation import COOLANT
from calc.catalogue.entry import Calculation, Curve
from calc.catalogue.hazards import FIRE
from calc.cooling import condensers, tank_warming, tank_warming_line
from calc.element import element_cover, energy_cost
from calc.heat import heat_up, spout_rate
from calc.quantities import DURATION_H, TEMPERATURE

SUBJECT = "Heat and cooling"

CONDENSER = (
    "A condenser that was enough on a cold day may not be on a hot one: prove it with water before "
    "spirit, watch the spout, and stop the heat if it is warm or blows (common practice, no "
    "source). Follow local codes and licensed practice."
)
ELEMENT = (
    "An element laid bare in alcohol vapour is a fire: let a low-level cut-out in hardware, not a "
    "figure or a screen, turn it off (common practice, no source). Follow local codes and have "
    "wiring done by a licensed electrician."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="heat-up-time",
        function=heat_up,
        subject=SUBJECT,
        question="How long until it boils?",
        answer=(
            "{duration_min} to {end_temperature_c}, for {energy_kwh}; {lost_kwh} of it warms the "
            "room."
        ),
        example={
            "volume_l": 25.0,
            "abv": 9.0,
            "power_kw": 2.0,
            "start_temperature_c": 20.0,
            "heat_loss_w_k": 3.0,
            "vessel_mass_kg": 8.0,
            "vessel_material": "stainless-steel",
        },
        cautions=(COOLANT, ELEMENT),
    ),
    Calculation(
        name="spout-rate",
        function=spout_rate,
        subject=SUBJECT,
        question="How fast will the spout run at this power?",
        answer=(
            "{spout_ml_min} at the spout from {vapour_kg_h} of vapour, {vapour_m3_h} of it at "
            "{head_temperature_c}."
        ),
        example={"power_kw": 2.0, "abv": 60.0, "heat_loss_kw": 0.2, "reflux_ratio": 0.0},
        cautions=(CONDENSER, FIRE),
    ),
    Calculation(
        name="condensers",
        function=condensers,
        subject=SUBJECT,
        question="How much cooling water do my condensers need?",
        answer=(
            "The product condenser carries off {product_duty_kw} and needs {product_flow_l_min}; "
            "the reflux condenser {reflux_duty_kw} and {reflux_flow_l_min}. The margin is in the "
            "water."
        ),
        example={
            "power_kw": 2.0,
            "abv": 90.0,
            "coolant_in_c": 15.0,
            "product_coolant_out_c": 35.0,
            "reflux_ratio": 3.0,
            "reflux_coolant_out_c": 60.0,
            "margin": 1.5,
        },
        cautions=(CONDENSER, COOLANT, FIRE),
    ),
    Calculation(
        name="tank-warming",
        function=tank_warming,
        subject=SUBJECT,
        question="How long will a tank of recirculated water keep cold enough?",
        answer=("{duration_h} to {limit_temperature_c}; at the start it warms by {warming_k_h}."),
        example={
            "tank_volume_l": 200.0,
            "duty_kw": 2.0,
            "start_temperature_c": 15.0,
            "limit_temperature_c": 35.0,
            "heat_loss_w_k": 20.0,
        },
        cautions=(CONDENSER, COOLANT),
        curve=Curve(
            of=tank_warming_line,
            x="duration_h",
            lines=("temperature_c",),
            fields={"duration_h": DURATION_H, "temperature_c": TEMPERATURE.called("Tank")},
            title="The tank warming",
        ),
        why="why",
    ),
    Calculation(
        name="energy-cost",
        function=energy_cost,
        subject=SUBJECT,
        question="What does the heat of this run cost?",
        answer="{energy_kwh} bought, for {cost}.",
        example={"power_kw": 2.0, "duration_h": 4.0, "price_per_kwh": 0.3, "efficiency": 1.0},
    ),
    Calculation(
        name="element-cover",
        function=element_cover,
        subject=SUBJECT,
        question="How much must stay in the pot to keep the element covered?",
        answer=(
            "{cover_volume_l} must stay, so stop before {most_collected_l} has been collected from "
            "this charge."
        ),
        example={
            "volume_l": 25.0,
            "pot_diameter_cm": 30.0,
            "element_top_cm": 8.0,
            "margin_cm": 3.0,
        },
        cautions=(ELEMENT, FIRE),
    ),
)
