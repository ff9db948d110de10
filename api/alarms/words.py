"""What every rule says, by its name: the one place to translate."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class RuleWords:
    """A rule's texts: plain words, whole sentences."""

    name: str
    cause: str = ""
    consequence: str = ""
    first_action: str = ""


RULES: Final[Mapping[str, RuleWords]] = {
    "ferment_too_hot": RuleWords(
        "Ferment too hot",
        "The yeast makes more heat than the vessel loses, or the room is hot.",
        "Off flavours, and above its maximum the yeast dies and the ferment stops.",
        "Cool it: coil, fan or wet cloths; stir gently so that it is warm nowhere.",
    ),
    "ferment_too_cold": RuleWords(
        "Ferment too cold",
        "A cold night, or the ferment has ended.",
        "It slows and may stick.",
        "Insulate or warm it, and take a gravity.",
    ),
    "ferment_reaching_maximum": RuleWords(
        "Ferment will be too hot within two hours",
        "The ferment is at its liveliest and warms faster than the vessel can lose.",
        "In two hours it reaches what the yeast stands at most.",
        "Begin to cool now; it takes a while to show.",
    ),
    "ferment_rising": RuleWords("Ferment warms fast"),
    "mash_off_rest": RuleWords(
        "Mash off its rest",
        "Heat is lost, or too much was given in one spot.",
        "Too hot kills the enzymes; too cold slows the conversion.",
        "Stir, measure again; add heat and a lid, or cold water by measure.",
    ),
    "mash_rest_reached": RuleWords(
        "Mash has rested its time",
        "The rest has lasted as long as was set.",
        "Nothing is gained by waiting longer; left to cool, it sours.",
        "Test for starch with iodine; then go on to the next rest or cool it to pitch.",
    ),
    "open_mash_long": RuleWords(
        "Mash still open in the pot",
        "The mash in the pot was begun hours ago and not ended in the plan.",
        "The alarms of a hot still stay covered for a mash only so long.",
        "If it is still a mash, shelve this; if it is a run, say so in the plan.",
    ),
    "water_not_proven": RuleWords(
        "Cooling water not proven",
        "Nothing shows yet that water runs through the condenser: before vapour comes, running "
        "and standing water look alike.",
        "Vapour that is not condensed leaves the spout: fire.",
        "Look at the end of the hose; open the tap; press “water runs” once you have seen it.",
    ),
    "no_outlet_rise": RuleWords(
        "Vapour has come, the outlet stays cold",
        "No water runs, or the outlet's probe is off.",
        "Vapour leaves the condenser uncondensed: fire or explosion.",
        "Turn the heat off at its isolator, then open the water; do not relight until vapour "
        "has gone.",
    ),
    "foam_prompt": RuleWords(
        "Watch for foam",
        "A wash foams as it nears the boil, most with grain, pulp or live yeast in it.",
        "It boils over into head and condenser, and may block them.",
        "Stay beside it, turn the heat down until it boils quietly.",
    ),
    "fill_too_high": RuleWords(
        "Pot filled too high",
        "The charge fills more of the pot than this kind of wash allows.",
        "It boils over into head and condenser.",
        "Take some out before it is hot: 70–75 % for a clear wash, 55–60 % on grain or pulp.",
    ),
    "charge_too_strong": RuleWords(
        "Charge too strong",
        "The charge holds more alcohol than is usual in a pot.",
        "Its vapour burns sooner, a spill is a fire, and the residue at the end leaves the "
        "element bare.",
        "Thin it with water before heating.",
    ),
    "boil_over": RuleWords(
        "Boil-over",
        "Foam or liquid has reached the head before vapour could, or the spout runs cloudy.",
        "Wash blocks head and condenser; pressure builds up; hot liquid sprays.",
        "Cut the heat. Open nothing while it is hot, add nothing; when it has settled, begin "
        "again with less heat.",
    ),
    "coolant_out_warm": RuleWords(
        "Cooling water leaves warm",
        "Too little water for the power, or water that comes in warm.",
        "The condenser has little in reserve.",
        "More water or less heat.",
    ),
    "coolant_out_hot": RuleWords(
        "Cooling water leaves hot",
        "Flow lost or nearly so, or far too much power.",
        "Vapour leaves the condenser uncondensed: fire.",
        "Cut the heat, then see to the water; do not relight until vapour has gone.",
    ),
    "reflux_out_warm": RuleWords(
        "Reflux water leaves warm",
        "Too little water for the reflux condenser.",
        "Less reflux than you set; what comes over is weaker.",
        "More water to the reflux condenser, or less heat.",
    ),
    "coolant_jump": RuleWords(
        "Cooling water warms fast",
        "The flow has fallen, or the power was raised.",
        "In a few minutes the condenser no longer takes all the vapour.",
        "Look at the water's flow and at the tap; turn the heat down.",
    ),
    "coolant_surge": RuleWords(
        "Cooling water warms very fast",
        "The water has stopped, or a hose is off.",
        "Within a minute vapour leaves the spout: fire.",
        "Cut the heat now; then look at the water.",
    ),
    "coolant_loss": RuleWords(
        "Cooling water lost",
        "While it boils the outlet or the inlet drifts to the room's warmth: water stands in the "
        "hose, or the outlet's probe has slipped off.",
        "Vapour leaves the spout: fire.",
        "Cut the heat now; then look at tap, pump and hose. Do not relight until vapour has gone.",
    ),
    "spout_jump": RuleWords(
        "Spout warms fast",
        "The condenser takes less than comes: water lost, or far too much power.",
        "Hot distillate and vapour at the receiver: fire.",
        "Cut the heat; then look at the water.",
    ),
    "spout_warm": RuleWords(
        "Spout warm",
        "The condenser is at its limit: little water, warm water or much power.",
        "Distillate evaporates at the receiver.",
        "More water or less heat.",
    ),
    "spout_hot": RuleWords(
        "Spout hot",
        "Vapour is hardly condensed.",
        "Above its flash point the distillate burns at any spark; vapour gathers at the floor.",
        "Cut the heat, keep flames and switches away, let air in; then look at the water.",
    ),
    "inlet_warm": RuleWords(
        "Cooling water comes in warm",
        "Water that runs in a circle has warmed, or the main is warm.",
        "The condenser loses its reserve from minute to minute.",
        "Change the water or add ice; turn the heat down.",
    ),
    "inlet_rising": RuleWords(
        "Cooling water comes in warmer and warmer",
        "Water that runs in a circle takes up all the still's heat: 2 kW warm 200 L by 8.6 K "
        "in an hour.",
        "Before the run is over it may no longer cool.",
        "Reckon how long it lasts; make fresh water ready.",
    ),
    "head_jump": RuleWords(
        "Head warms fast",
        "Strength falls: more power, less reflux, or tails on their way.",
        "Tails in the hearts.",
        "Change the jar, smell it; see to power and reflux.",
    ),
    "column_jump": RuleWords(
        "Column warms fast",
        "Strength falls in the column: more power, less reflux, or tails on their way.",
        "Tails follow at the spout within minutes.",
        "Make the next jar ready; see to power and reflux.",
    ),
    "element_near": RuleWords(
        "Element soon bare",
        "What was charged less what was collected is near the least that covers the element.",
        "A bare element glows in vapour: fire; and it burns out.",
        "Turn the heat off; add nothing while it is hot.",
    ),
    "receiver_nearly_full": RuleWords(
        "Receiver nearly full",
        "It holds nine tenths of what it can.",
        "Spirit runs over on to the floor.",
        "Change the receiver.",
    ),
    "water_off_while_hot": RuleWords(
        "Water off while the still is hot",
        "The heat is off, but the head still has vapour in it and the water seems to stand.",
        "What the pot still gives comes out as vapour.",
        "Turn the water on again until the head is below 60 °C.",
    ),
    "heat_lost": RuleWords(
        "Heat lost while boiling",
        "The flame is out, the element or its fuse has failed, or the power is off; or the head's "
        "probe has slipped out.",
        "As it cools the still draws air, or liquid from the receiver: suck-back; an unlit gas "
        "burner fills the room.",
        "Open the vent and lift the hose out of the liquid; close the gas; then find out why.",
    ),
    "unattended": RuleWords(
        "Hot still left alone",
        "Nobody has shown for a while that they are beside it.",
        "Whatever goes wrong at a hot still goes wrong with nobody there.",
        "Go to the still, look at spout, water and receiver, and press the button there.",
    ),
    "unattended_soon": RuleWords(
        "Are you at the still?",
        "Nobody has shown for a while that they are beside it.",
        "Soon it counts as left alone, and everybody is called.",
        "Look at the still, and press the button or set a mark there.",
    ),
    "probe_refused": RuleWords(
        "Probe gives no good reading",
        "A loose or wet contact, a cable beside a mains lead, or a weak supply.",
        "What it watches is not watched.",
        "Treat it as if what it watches had failed; then see to cable and supply.",
    ),
    "probe_stale": RuleWords(
        "Probe gone",
        "Its cable is out, or the bus is broken before it.",
        "What it watches is not watched.",
        "Treat it as if what it watches had failed; then see to plug and cable.",
    ),
    "probe_frozen": RuleWords(
        "Probe frozen",
        "It repeats one number while another on the vessel moves: it has slipped out, or failed.",
        "What it watches is not watched.",
        "See that it sits in its place; warm it in the hand; change it if it does not move.",
    ),
    "probes_do_not_fit": RuleWords(
        "Probes do not fit each other",
        "The head shows more than the pot, or the water that comes more than the water that "
        "leaves: a probe has slipped out, or two have changed places.",
        "What they watch is not watched, and what is worked out from them is wrong.",
        "See that each probe sits in its place; where two are swapped, put it right on the "
        "vessels page.",
    ),
    "head_stays_cold": RuleWords(
        "The pot is at its boil, the head stays cold",
        "The head's probe has slipped out or repeats one number, or vapour is lost on its way.",
        "Nothing tells when vapour comes: water that does not run is not noticed.",
        "Look whether vapour or distillate comes and whether the water runs; turn the heat down "
        "until you know, then see to the head's probe.",
    ),
    "logger_silent": RuleWords(
        "No readings arrive",
        "The logger has stopped or hangs.",
        "Nothing is watched.",
        "Watch the still yourself; restart the logger and see what it says.",
    ),
    "service_was_down": RuleWords(
        "Nobody watched for a while",
        "The service was down while the still was hot.",
        "Alarms of that time were judged only now.",
        "Look at the still, then at what is listed of that time.",
    ),
    "clock_stepped": RuleWords(
        "Clock was put right",
        "The machine's clock was wrong by seconds or more and has been set.",
        "Times noted by hand meanwhile may not fit the record.",
        "Compare your notes' times with the chart.",
    ),
    "card_nearly_full": RuleWords(
        "Card nearly full",
        "The card that holds the data has little room left.",
        "When it is full nothing more is kept.",
        "Free space on it, or fit a larger card.",
    ),
    "ferment_peak_passed": RuleWords("Ferment has passed its peak"),
    "ferment_stuck": RuleWords(
        "Ferment may be stuck",
        "By its warmth it makes hardly any heat any more, and by that it should not be done yet.",
        "Left so it stays sweet, gives less, and in the end spoils.",
        "Take a gravity now and compare it with the last; then think of warmth, and of the yeast.",
    ),
    "boil_imminent": RuleWords(
        "Will boil within minutes",
        "The charge warms as it did, and is nearly as hot as it boils at.",
        "A wash that comes to the boil under full heat foams up into the head and the condenser.",
        "Stay with it: see that the cooling water runs and the spout is free; then turn the heat "
        "down.",
    ),
    "tails_near": RuleWords(
        "Tails may be near",
        "Head, column and strength bend as they do before the tails; it is an estimate.",
        "What comes after the bend spoils the hearts it runs into.",
        "Smell and taste what runs now, and have the next jar at hand; your nose decides.",
    ),
    "run_ends_soon": RuleWords(
        "The run may end within minutes",
        "By the estimate the spout is nearly at the strength, or the alcohol left, that ends it.",
        "Beyond it heat and water are spent on hardly any alcohol.",
        "Read the spout; when you agree, take the heat off and let the cooling water run on.",
    ),
    "balance_implausible": RuleWords(
        "More alcohol than was charged",
        "A jar's volume or strength, or the charge's, was read or entered wrongly.",
        "The record does not add up, and every estimate that stands on it is wrong.",
        "Compare the charge and the last jars with what was written down, and correct the slip.",
    ),
    "alcohol_missing": RuleWords(
        "Alcohol is missing",
        "Vapour or spirit escapes unseen, some was drawn off and not written down, or the charge "
        "or a jar was read or entered wrongly.",
        "Escaping vapour burns and explodes; if none escapes, the record does not add up.",
        "Turn the heat down, air the room and keep flames and switches away; look and smell along "
        "every joint, the condenser and the spout. Then compare charge and jars with the notes.",
    ),
}
