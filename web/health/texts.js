// What the page about the house's health says.

import { learn } from "../texts.js";

learn({
  "health.well": "Everything here is *well*.",
  "health.one": "*One thing* wants a hand.",
  "health.many": "*{count} things* want a hand.",
  "health.grave.one": "*One thing does not do its work*; see to it before the heat goes on.",
  "health.grave.many": "*{count} things do not do their work*; see to them before the heat goes on.",
  "health.rests": "Wormtub {program}, schema {schema}; looked at {when}. wormtub check says the same on the machine itself, with the service or without it.",
  "health.state.ok": "well",
  "health.state.warn": "wants a hand",
  "health.state.bad": "does not work",
  "health.name.logger": "Logger",
  "health.name.service": "Service",
  "health.name.bus": "One-wire bus",
  "health.name.probes": "Probes",
  "health.name.clock": "Clock",
  "health.name.disk": "Card",
  "health.name.store": "Record",
  "health.name.backups": "Backups",
  "health.name.notices": "Notices",
  "health.name.certificate": "Certificate",
  "health.name.machine": "Machine",
  "health.name.supply": "Supply",
  "health.name.versions": "Versions",
});
