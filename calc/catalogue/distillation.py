"""Entries of the catalogue: simple distillation."""

from calc.catalogue.entry import Calculation, Curve
from calc.catalogue.hazards import FIRE, FOAM, LAWFUL
from calc.pot_still import wash_to_spirit
from calc.pressure import STANDARD_HPA
from calc.simple_distillation import (
    COLLECTED_ABV,
    COLLECTED_VOLUME,
    POT_ABV,
    POT_TEMPERATURE,
    SPOUT_ABV,
    simple_distillation,
    simple_distillation_line,
)

SUBJECT = "Simple distillation"

CHARGE = (
    "Charge no stronger than 40 % vol, fill a clear wash to no more than 70-75 % of the pot and "
    "clean low wines to 80-85 % (common practice, no source). Follow local codes."
)
COOLANT = (
    "Coolant on before vapour rises, and never leave a boiling still: without coolant it blows "
    "flammable vapour into the room within seconds. Heat off first, coolant off last (common "
    "practice, no source). Follow local codes and licensed practice."
)
METHANOL = (
    "Foreshots do not reliably take methanol out, and no temperature shows it: have spirit for "
    "drinking analysed (from memory). Follow local codes."
)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        name="simple-distillation",
        function=simple_distillation,
        subject=SUBJECT,
        question="What will this charge give in a pot still, and when do I stop?",
        answer=(
            "{collected_volume_l} of {collected_abv} comes over and {residue_volume_l} of "
            "{residue_abv} stays; the pot goes from {pot_temperature_start_c} to "
            "{pot_temperature_end_c}, and boiling it takes {boiling_kwh}."
        ),
        example={
            "volume_l": 25.0,
            "abv": 9.0,
            "pressure_hpa": STANDARD_HPA,
            "end_spout_abv": 10.0,
            "power_kw": 2.0,
        },
        cautions=(CHARGE, COOLANT, FOAM, FIRE, LAWFUL),
        curve=Curve(
            of=simple_distillation_line,
            x="collected_volume_l",
            lines=("spout_abv", "collected_abv", "pot_abv", "pot_temperature_c"),
            fields={
                "collected_volume_l": COLLECTED_VOLUME,
                "spout_abv": SPOUT_ABV,
                "collected_abv": COLLECTED_ABV,
                "pot_abv": POT_ABV,
                "pot_temperature_c": POT_TEMPERATURE,
            },
            title="The run against what is collected",
        ),
    ),
    Calculation(
        name="wash-to-spirit",
        function=wash_to_spirit,
        subject=SUBJECT,
        question="How much low wines and how much of each cut will this wash give?",
        answer=(
            "Low wines {low_wines_volume_l} of {low_wines_abv}. Of that foreshots "
            "{foreshots_low_l} to {foreshots_high_l}, heads {heads_low_l} to {heads_high_l}, "
            "hearts {hearts_low_l} to {hearts_high_l} at about {hearts_abv}, tails {tails_low_l} "
            "to {tails_high_l}."
        ),
        example={
            "wash_volume_l": 100.0,
            "wash_abv": 9.0,
            "largest_charge_l": 25.0,
            "pressure_hpa": STANDARD_HPA,
            "strip_end_spout_abv": 10.0,
            "spirit_end_spout_abv": 5.0,
        },
        cautions=(METHANOL, CHARGE, COOLANT, FIRE, LAWFUL),
    ),
)
