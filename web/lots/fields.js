// The fields that forms of lots share: how much was found, at which strength, when. Pure.

import { say } from "../texts.js";

/** @typedef {import("../shared/entry.js").Field} Field */
/** @typedef {import("../shared/entry.js").Entered} Entered */
/** @typedef {[string, string]} Choice */

export const GAUGED = /** @type {const} */ (["volume_l", "volume_temperature_c", "volume_error_l", "mass_kg", "reading_abv", "temperature_c", "instrument", "reading_error_abv"]);
const INSTRUMENTS = ["alcoholometer_20c", "alcoholometer_15c", "alcoholometer_60f", "hydrometer", "density_meter", "refractometer", "from_gravities"];

/** @param {string} name @param {string} unit @param {Record<string, any>} start @param {Partial<Field>} [more] @returns {Field} */
export function number(name, unit, start, more = {}) {
  return { name, kind: "number", unit, value: start[name] ?? null, ...more, label: more.label ?? say(`lots.${name}`) };
}

/** @param {string} name @param {readonly Choice[]} choices @param {string | null} value @param {Partial<Field>} [more] @returns {Field} */
export function choice(name, choices, value, more = {}) {
  const chosen = choices.some(([each]) => each === value) ? value : (choices[0]?.[0] ?? "");
  return { name, kind: "choice", choices, value: chosen, ...more, label: more.label ?? say(`lots.${name}`) };
}

/**
 * How much was found, as it was read.
 * @param {Record<string, any>} start
 * @param {{volume?: string, strength?: boolean}} [how] the hint at the volume; whether a strength is asked at once
 * @returns {Field[]}
 */
export function gauged(start, { volume = "", strength = true } = {}) {
  const later = { more: true };
  const asked = strength ? {} : later;
  return [
    number("volume_l", "L", start, { hint: volume }),
    number("reading_abv", "%", start, { ...asked, hint: say("lots.reading_abv.hint") }),
    number("temperature_c", "°C", start, { ...asked, hint: say("lots.temperature_c.hint") }),
    number("mass_kg", "kg", start, { ...later, hint: say("lots.mass_kg.hint") }),
    choice("instrument", INSTRUMENTS.map((name) => /** @type {Choice} */ ([name, say(`instrument.${name}`)])), start.instrument ?? null, later),
    number("volume_temperature_c", "°C", start, { ...later, hint: say("lots.volume_temperature_c.hint") }),
    number("volume_error_l", "L", start, { ...later, hint: say("lots.error.hint") }),
    number("reading_error_abv", "%", start, later),
  ];
}

/** Water by the tap: a weight or a volume, and how warm. @param {Record<string, any>} start @returns {Field[]} */
export function watered(start) {
  return [number("mass_kg", "kg", start, { hint: say("lots.water.hint") }), number("volume_l", "L", start), number("temperature_c", "°C", start, { more: true, hint: say("lots.water.temperature") })];
}

/** When, and a note. @param {Record<string, any>} start @param {boolean} [noted] @returns {Field[]} */
export function moment(start, noted = true) {
  /** @type {Field[]} */
  const at = [{ name: "at", label: say("enter.at"), kind: "time", hint: say("enter.at.hint"), value: start.at ?? null, more: true }];
  return noted ? [...at, { name: "text", label: say("mark.text"), kind: "long", value: start.text ?? "", blank: true, more: true }] : at;
}

/** What of a form is a gauging; an instrument that read nothing is none. @param {Entered} values */
export function gaugingOf(values) {
  const read = Object.fromEntries(GAUGED.filter((name) => name in values).map((name) => [name, values[name] ?? null]));
  return "instrument" in read && read.reading_abv === null ? { ...read, instrument: null } : read;
}

/** Whether anything was found at all. @param {Record<string, any>} read */
export function isGauged({ volume_l = null, mass_kg = null, reading_abv = null }) {
  return volume_l !== null || mass_kg !== null || reading_abv !== null;
}
