"""What can be made to go wrong in a simulation, by name and in words."""

from typing import Final

BUS: Final = {
    "crc": "Bytes are hurt on the way",
    "empty": "The probe does not answer",
    "torn": "Half an answer comes",
    "power-on": "85 °C, as before a first conversion",
    "genuine-85": "85 °C, truly measured: no fault, and kept",
    "low-supply": "The supply sags: 127.9 °C",
    "zeros": "The data line is shorted",
    "stuck": "The same good reading again and again",
    "vanished": "The probe is gone from the bus",
    "slow": "Each reading takes a whole conversion",
    "hang": "A reading never returns",
}
PLANT: Final = {
    "coolant-stopped": "No water runs through the condensers",
    "coolant-weak": "The water runs weakly",
    "coolant-warm": "The water comes warmer",
    "hose-off": "A hose is off: the product condenser runs empty",
    "heat-lost": "The heat goes out",
    "power-cut": "The power fails",
    "boil-over": "The charge foams and boils over",
    "vent-blocked": "The way out is blocked and pressure builds up",
    "storm": "The barometer falls",
    "door-open": "The door stands open",
    "yeast-dies": "The yeast dies",
    "ferment-wrapped": "Fermenters are wrapped and their coils off",
    "probe-slipped": "A probe slips out towards the room",
    "probe-buried": "A probe is buried in solids",
    "probes-swapped": "Two probes are swapped",
}
AMOUNTS: Final = {  # what the amount of a fault is
    "coolant-weak": "% left",
    "coolant-warm": "K warmer",
    "vent-blocked": "hPa",
    "storm": "hPa",
    "probe-slipped": "% towards the room",
}
