"""What the still's estimates say: why not, what they rest on, what would narrow them."""

from typing import Final

from api.estimates.still.signs import Block

NOTHING_YET: Final = "There is no good reading of the pot yet."
NO_HEAD: Final = "There is no good reading of the head."
NO_POT: Final = "There is no good reading of the pot."
CLEANING: Final = "This run cleans the still; its strengths mean nothing."
COLD: Final = "The pot is not heated yet."
NOT_MIXED: Final = "The charge is not mixed yet: wait until it has warmed for some minutes."
NOT_BOILING: Final = "The pot is not boiling yet."
NO_MORE: Final = "The pot no longer boils."
BOILS: Final = "The pot boils already."
HEAD_COLD: Final = (
    "The head is cooler than any vapour of ethanol and water at this pressure: vapour has not "
    "arrived, or there is air in it."
)
HEAD_SETTLES: Final = "Vapour has just reached the head; wait some minutes until it has settled."
NOTHING_RUNS: Final = "Nothing runs from the spout yet."
RUNS: Final = "The spout runs already."
VACUUM: Final = (
    "The still runs under a vacuum, and nothing measures the pressure in it; temperature alone "
    "tells no strength there."
)
SWAPPED: Final = (
    "The head seems hotter than the pot: the probes of pot and head may be swapped. Look at the "
    "places in the settings."
)
TOO_HOT: Final = (
    "The pot is hotter than boiling water at this pressure: check the probe and the pressure, "
    "and enter the pressure of a liquid seal if there is one. If anything may be blocked, turn "
    "the heat off."
)
TOO_COOL: Final = (
    "The pot seems to boil cooler than anything it can hold at this pressure: check the probe and "
    "the pressure, and say so if the still runs under a vacuum."
)
AZEOTROPE: Final = (
    "Too near the azeotrope: temperature no longer tells the strength, which lies between "
    "{low:.1f} and {high:.1f} % vol."
)
WIDE: Final = (
    "What is known leaves anything from {low:.0f} to {high:.0f} % vol, too wide to act on."
)
NO_SIZE: Final = "Neither the charge nor the size of the still is known; enter one of them."
NO_CHARGE: Final = "Nobody has said what was charged; the pot tells it once it boils."
NO_JAR: Final = "No jar of a known size is under the spout."
JAR_FULL: Final = "The jar must be full by now."
HEAT_ON: Final = "The heat is still on."
COOL_ALREADY: Final = "The pot is below 50 °C."
NEVER_BOILS: Final = "At this heat the pot may never boil: it loses as much as it gets."
ENDED: Final = "The run is past its end, {end}."
NO_HEAT: Final = "The heat is off."
NO_WATER: Final = "The cooling water's temperatures, in and out, are not both measured."
NO_FLOW: Final = "No water runs through the condenser: turn the heat off until it does."
NO_FLOW_YET: Final = "No water runs through the condenser yet."
NOT_WARMER: Final = (
    "The water leaves no warmer than it came: either no water runs, or the probes of the water are "
    "swapped."
)
WARM_WATER: Final = "The cooling water comes in too warm to tell."
NOT_SPIRIT: Final = "Cuts are made of spirit runs; this is none."
ALL_GONE: Final = "Nothing is left to be collected."

FROM_POT: Final = "The pot's temperature, and the balance of what has left it."
FROM_HEAD: Final = "The head's temperature."
FROM_CHARGE: Final = "The charge as it was recorded."
FROM_SIZE: Final = "The still's size: nobody has said what was charged."
FROM_READINGS: Final = "{n} readings of the spout's strength."
FROM_READING: Final = "One reading of the spout's strength."
FROM_HEATING: Final = "How fast the pot has warmed, and what has come over since."
FROM_NOW: Final = "Heat and reflux as they are now."
FROM_WATER: Final = "Water in and out of the condenser, if it may leave at {limit:.0f} °C."
FROM_PRACTICE: Final = "Where tails commonly begin, about {abv:.0f} % vol; your nose decides."
FROM_OWN_TAILS: Final = "Where your tails have begun, about {abv:.0f} % vol; your nose decides."
FROM_OWN_SHARE: Final = (
    "Your tails have begun when about {percent:.0f} % of the alcohol was over; your nose decides."
)
# By tests/bench/estimate_still.py, seeds 11816 to 11925, calibrated probes and every jar measured.
HINT_TRIED: Final = (
    "The hint is of the next {jars:g} jars. On 110 simulated runs it came a jar or more ahead in "
    "all, half of the time 1.6 jars or more, and never more than three jars too soon."
)
TAILS_BEGUN: Final = "They have probably begun."
SEALED: Final = "The pressure of the air, and {hpa:g} hPa of the liquid seal."
AIR_ANYWHERE: Final = (
    "The air's pressure anywhere between the sea and some 2500 m, as nobody has said how high the "
    "house stands."
)
AIR_BY_HEIGHT: Final = (
    "The air's usual pressure at the house's height; the weather may be {hpa:.0f} hPa off it."
)
AIR_ENTERED: Final = (
    "The air's pressure as it was entered; the weather may have moved it by {hpa:.0f} hPa since."
)
AS_POT_STILL: Final = "Head and pot go together as in a pot still: little comes back."
UNDER_REFLUX: Final = "The head is richer than the pot's vapour: the still runs under reflux."
REFLUX_GUESSED: Final = "What such stills commonly return: no probe of the head tells it."
DISSOLVED: Final = (
    "An allowance for what is dissolved in the wash, {low:.0f} to {high:.0f} g/L by what such "
    "washes leave."
)
DISSOLVED_KNOWN: Final = (
    "An allowance for what is dissolved in the wash, about {grams:.0f} g/L by its last gravity."
)
END_BY_SPOUT: Final = "when the spout has fallen to {abv:g} % vol"
END_BY_LEFT: Final = "when {percent:g} % of the alcohol is left"
END_ASSUMED: Final = "when the spout has fallen to {abv:g} % vol, as nobody has said otherwise"
END: Final = "The end: {end}."

READ_SPOUT: Final = "Read the strength at the spout."
HANG_HEAD_PROBE: Final = "Put a probe where the vapour leaves the head."
READ_POT: Final = "Put a probe in the pot: it tells what is left, and how the run goes on."
CALIBRATE: Final = "Calibrate the probe of the {place}."
BAROMETER: Final = "Measure the air's pressure where the still stands."
ENTER_AIR: Final = "Enter the air's pressure again, as a barometer where the still stands shows it."
ENTER_HEIGHT: Final = "Enter how high the house stands above the sea, or the air's pressure."
ENTER_CHARGE: Final = "Enter volume and strength of the charge."
READ_JARS: Final = "Enter the volume and strength of each jar as it is changed."
MARK_POWER: Final = "Mark the power when you change it."

CHARGE_CONTRADICTED: Final = (
    "The pot's temperature contradicts the charge as it was recorded: look at its strength, and "
    "at the probe and the pressure."
)
HEAD_CONTRADICTS: Final = (
    "The head shows {head_c:.1f} °C, which contradicts the pot: look at its probe."
)
READING_CONTRADICTS: Final = (
    "The reading of {abv:.1f} % vol at {hour} contradicts everything else, which says about "
    "{expected:.0f} % vol."
)
STRENGTHS_AGREE: Final = (
    "The strengths that were read agree with each other, and not with the head and the pot. They "
    "count: look at the head's probe and at the pressure."
)
JAR_CONTRADICTS: Final = (
    "The {value} of the jar begun at {hour} contradict everything else, which says about "
    "{expected}."
)
HEAT_CHANGED: Final = "If the heat was changed meanwhile, mark it."

_GROWN_OLD_HPA: Final = 1.0  # an entered pressure that may be off by so much, one standard error


def of_air(block: Block) -> str:
    """Say what the air's pressure is taken from, where it is not measured now."""
    if block.hpa is None:
        return AIR_ANYWHERE
    if block.hpa_by == "barometer":
        return ""
    said = AIR_BY_HEIGHT if block.hpa_by == "altitude" else AIR_ENTERED
    old = block.hpa_by == "altitude" or block.hpa_error > _GROWN_OLD_HPA
    return said.format(hpa=2.0 * block.hpa_error) if old else ""


def to_know_air(block: Block) -> list[str]:
    """Say how the air's pressure would be better known."""
    if block.hpa is None:
        return [ENTER_HEIGHT, BAROMETER]
    if block.hpa_by == "entered":
        return [ENTER_AIR] if block.hpa_error > _GROWN_OLD_HPA else []
    return [] if block.hpa_by == "barometer" else [BAROMETER]
