// What the probes come to, in words. Pure.

import { degrees, unitSign } from "../shared/units.js";
import { parts, say } from "../texts.js";

export const TEMPERATURE = "temperature_c";

/** @typedef {import("../texts.js").Part} Part */
/** What fits the moment best: warm one to place it, or calibrate. @typedef {"wait" | "warm" | "calibrate"} Next */

/** The reading a person means by the probe: its temperature, or else what it has. @param {ProbeRecord} probe */
export function mainReading(probe) {
  return probe.readings.find(({ quantity }) => quantity === TEMPERATURE) ?? probe.readings[0];
}

/** @param {ProbeRecord} probe */
export function isThermometer(probe) {
  return probe.readings.some(({ quantity }) => quantity === TEMPERATURE);
}

/** @param {ProbeRecord} probe */
export function readsWell(probe) {
  return probe.readings.some(({ grade }) => grade === "ok");
}

/** "pot of still 1", or what people call it, or its id. @param {ProbeRecord} probe */
export function nameOf(probe) {
  const reading = mainReading(probe);
  if (!reading?.place) return probe.name ?? probe.id;
  const place = placeText(reading.place);
  return reading.vessel ? say("name.joined", { place, vessel: reading.vessel }) : place;
}

/** "coolant_in" as people say it. @param {string} name */
export function placeText(name) {
  return name.replaceAll("_", " ");
}

/** @param {readonly ProbeRecord[]} probes @returns {{says: Part[], rests: string, next: Next}} */
export function tellProbes(probes) {
  const used = probes.filter(({ retired }) => !retired);
  const thermometers = used.filter(isThermometer);
  if (thermometers.length === 0) return { says: parts("probes.says.none"), rests: say("probes.rests.none"), next: "wait" };
  const loose = thermometers.filter((probe) => !mainReading(probe)?.place_id);
  const silent = used.filter((probe) => !readsWell(probe));
  const raw = thermometers.filter((probe) => !mainReading(probe)?.calibration);
  const others = used.filter((probe) => !isThermometer(probe));
  const says = [...countParts(thermometers, loose), ...besideParts(others), ...silentParts(silent, used)];
  if (loose.length > 0) return { says, rests: say("probes.rests.loose"), next: "warm" };
  return { says, rests: rawText(raw.length, thermometers.length), next: "calibrate" };
}

/** @param {number} raw @param {number} all */
function rawText(raw, all) {
  if (raw === 0) return say("probes.rests.calibrated");
  return raw === all ? say("probes.rests.allraw") : say("probes.rests.raw", { count: raw, all });
}

/** @param {readonly ProbeRecord[]} all @param {readonly ProbeRecord[]} loose @returns {Part[]} */
function countParts(all, loose) {
  const count = all.length;
  if (count === 1) return parts(loose.length ? "probes.says.one.loose" : "probes.says.one");
  if (loose.length === 0) return parts("probes.says.placed", { count });
  return parts(loose.length === 1 ? "probes.says.loose.one" : "probes.says.loose", { count, loose: loose.length });
}

/** What else is read, so that the numbers add up with what the live page counts. @param {readonly ProbeRecord[]} others @returns {Part[]} */
function besideParts(others) {
  const [first] = others;
  if (!first) return [];
  if (others.length > 1) return parts("probes.beside.some", { count: others.length });
  return parts(mainReading(first)?.quantity === "pressure_hpa" ? "probes.beside.barometer" : "probes.beside.one");
}

/** @param {readonly ProbeRecord[]} silent @param {readonly ProbeRecord[]} used @returns {Part[]} */
function silentParts(silent, used) {
  const gap = { text: " ", strong: false };
  const [first] = silent;
  if (!first) return [gap, ...parts(used.length === 1 ? "probes.says.well.one" : "probes.says.well")];
  if (silent.length === 1) return [gap, ...parts("probes.says.silent.one", { name: nameOf(first) })];
  return [gap, ...parts("probes.says.silent", { count: silent.length })];
}

/** How much was refused in the last day, by grade: "12 garbled, 1 no answer". @param {Record<string, number>} counts */
export function refusedText(counts) {
  const found = Object.entries(counts).filter(([, count]) => count > 0).sort(([, a], [, b]) => b - a);
  return found.map(([grade, count]) => say("probes.refused.one", { count, grade: say(`grade.${grade}`) })).join(", ");
}

/** A refusal of what was given for a point, in the unit and the words it was asked for in. @param {string} sentence @param {import("../shared/units.js").Unit} unit */
export function refusalText(sentence, unit) {
  const found = /^(reference_c|pressure_hpa) is (-?[\d.]+); it must be (.+) (-?[\d.]+)\.$/.exec(sentence);
  if (!found) return sentence;
  const [, name = "", given = "", bound = "", limit = ""] = found;
  const shown = (/** @type {string} */ number) => (name === "reference_c" ? `${+degrees(Number(number), unit).toFixed(2)} ${unitSign(unit)}` : `${number} hPa`);
  return say("cal.bound", { label: say(`cal.bound.${name}`), given: shown(given), bound, limit: shown(limit) });
}

/** "1 of 16 places", for a choice. @param {PlaceRecord} place @param {readonly VesselRecord[]} vessels */
export function placeName(place, vessels) {
  const vessel = vessels.find(({ id }) => id === place.vessel_id);
  const name = placeText(place.name);
  return vessel ? say("name.joined", { place: name, vessel: vessel.name }) : name;
}
