// The texts of the simulation's panel, kept with those of the pages.

import { learn } from "../texts.js";

learn({
  "sim.title": "This is a simulation",
  "sim.close": "Close",
  "sim.truth": "{says} In truth the vapour is {vapour} % vol now, {collected} L are collected, and the air stands at {pressure} hPa.",
  "sim.standing": "Faults that stand",
  "sim.stands": "{place}: {says}.",
  "sim.end": "Take it back",
  "sim.cause.title": "Let something go wrong",
  "sim.what": "What",
  "sim.bus": "A probe fails",
  "sim.plant": "The plant fails",
  "sim.at": "At",
  "sim.other": "and at",
  "sim.amount": "How much",
  "sim.cause": "Cause it",
  "sim.jump.title": "Jump ahead in the run",
  "sim.jump.hint": "The plant goes on at once by that time; the record shows the jump where it was made.",
  "sim.jump": "{minutes} min",
});
