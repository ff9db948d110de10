"""The quantities that are estimated, by what they are of, and their units."""

from collections.abc import Mapping
from typing import Final

from api.estimates.facts.held import Kind

QUANTITIES: Final[Mapping[Kind, Mapping[str, str]]] = {
    "still": {
        "vapour_abv": "% vol",
        "pot_abv": "% vol",
        "spout_abv": "% vol",
        "alcohol_left_l": "L",
        "alcohol_recovered_l": "L",
        "recovered_percent": "%",
        "collected_l": "L",
        "collected_abv": "% vol",
        "rate_ml_min": "mL/min",
        "reflux_ratio": "",
        "heat_w": "W",
        "minutes_to_boil": "min",
        "minutes_to_first_drop": "min",
        "minutes_to_jar_full": "min",
        "minutes_to_end": "min",
        "end_collected_l": "L",
        "end_collected_abv": "% vol",
        "minutes_to_pot_below_50_c": "min",
        "condenser_margin_percent": "%",
        "hearts_l": "L",
        "tails_near": "%",
        "measured_percent": "%",
        "accounted_percent": "%",
    },
    "ferment": {
        "heat_rate_w": "W",
        "loss_w_per_k": "W/K",
        "fermented_percent": "%",
        "gravity_sg": "",
        "abv": "% vol",
        "hours_to_peak": "h",
        "hours_since_peak": "h",
        "hours_to_end": "h",
        "stuck_percent": "%",
    },
    "mash": {
        "rest_minutes": "min",
        "minutes_to_fall_out": "min",
        "heat_to_add_kj": "kJ",
        "water_to_add_l": "L",
    },
}
UNITS: Final[Mapping[str, str]] = {
    name: unit for own in QUANTITIES.values() for name, unit in own.items()
}
