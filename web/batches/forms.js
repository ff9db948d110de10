// What may be entered of a batch: a form for each kind, and those that fit its stage first.

import { get, serviceNow } from "../shared/api.js";
import { makeEntry } from "../shared/entry.js";
import { say } from "../texts.js";
import { split } from "../record/words.js";

/** @typedef {import("../shared/entry.js").Field} Field */

/** Which entries a stage asks for, the likeliest first. @type {Record<string, string[]>} */
const FITTING = {
  mash: ["grain", "liquor", "rest", "gravity", "iodine", "volume", "ph"],
  ferment: ["gravity", "yeast", "nutrient", "ph", "smell", "volume"],
  proof: ["water_added", "sample", "bottle_fill"],
  age: ["cask_weight", "sample", "top_up", "smell"],
};
const OF_A_LOT = ["cask_weight", "sample", "top_up", "water_added", "bottle_fill"];
export const KINDS = ["grain", "liquor", "rest", "volume", "gravity", "iodine", "yeast", "nutrient", "ph", "smell", ...OF_A_LOT];

/** @param {string | null} stage @returns {string[]} */
export function fittingKinds(stage) {
  return FITTING[stage ?? ""] ?? ["gravity", "smell"];
}

/** What was typed that makes up an entry of a kind. @type {Record<string, (lots: [string, string][], all: [string, string][]) => Field[]>} */
const FIELDS = {
  grain: () => [text("name"), number("mass_kg", "kg"), number("percent", "%", true)],
  liquor: () => [number("volume_l", "L"), number("temperature_c", "°C", true)],
  rest: () => [text("name", "rest"), number("low_c", "°C"), number("high_c", "°C"), number("planned_min", "min", true), { name: "ended_at", label: label("ended_at"), kind: "time", optional: true }],
  volume: () => [number("volume_l", "L"), number("temperature_c", "°C", true)],
  gravity: () => [number("reading_sg", ""), number("temperature_c", "°C"), { ...number("reference_temperature_c", "°C"), value: 20, more: true }],
  spout: () => [number("reading_abv", "%"), number("temperature_c", "°C")],
  iodine: () => [{ name: "starch_left", label: label("starch_left"), kind: "tick" }],
  yeast: () => [text("name"), number("mass_kg", "kg")],
  nutrient: () => [text("name"), number("mass_kg", "kg")],
  ph: () => [number("ph", ""), number("temperature_c", "°C", true)],
  smell: () => [text("smell")],
  cask_weight: (lots) => [lot(lots), number("mass_kg", "kg"), number("tare_kg", "kg"), number("reading_abv", "%", true), number("temperature_c", "°C", true)],
  sample: (lots) => [lot(lots), number("volume_l", "L"), number("temperature_c", "°C", true)],
  top_up: (lots, all) => [lot(lots), { ...lot(all), name: "refers", label: label("refers") }, number("volume_l", "L"), number("temperature_c", "°C", true)],
  water_added: (lots) => [lot(lots), number("mass_kg", "kg", true), number("volume_l", "L", true), number("temperature_c", "°C", true)],
  bottle_fill: (lots) => [lot(lots), text("name"), number("count", ""), number("volume_l", "L"), number("reading_abv", "%"), number("temperature_c", "°C")],
};

/** @param {string} name */
function label(name) {
  return say(`enter.${name}`);
}

/** @param {string} name @param {string} [value] @returns {Field} */
function text(name, value) {
  return { name, label: label(name), value: value ?? null };
}

/** @param {string} name @param {string} unit @param {boolean} [optional] @returns {Field} */
function number(name, unit, optional = false) {
  return { name, label: label(name), kind: "number", unit, optional };
}

/** @param {[string, string][]} choices @returns {Field} */
function lot(choices) {
  return { name: "lot_id", label: label("lot_id"), kind: "choice", choices, value: choices[0]?.[0] ?? "" };
}

/**
 * @param {object} given
 * @param {string} given.kind
 * @param {string} given.zone
 * @param {LotRecord[]} given.lots
 * @param {Record<string, any>} [given.start] what was said before
 * @param {(said: Record<string, any>) => Promise<unknown>} given.act
 * @param {() => void} given.cancel
 */
export async function stageForm({ kind, zone, lots, start, act, cancel }) {
  const named = (/** @type {LotRecord[]} */ some) => some.map(({ id, name, kind: of }) => /** @type {[string, string]} */ ([id, name || say(`lot.${of}`)]));
  const all = kind === "top_up" ? await get("lots").catch(() => lots) : lots; // a cask is topped up from any batch's
  const fields = (FIELDS[kind] ?? (() => []))(named(lots), named(all)).map((field) => (start && start[field.name] != null ? { ...field, value: shown(start[field.name]) } : field));
  if (kind === "grain") await offerGrains(fields);
  fields.push({ name: "at", label: say("enter.at"), kind: "time", hint: say("enter.at.hint"), value: start?.at ?? null, more: true });
  fields.push({ name: "text", label: say("mark.text"), kind: "long", value: start?.text ?? "", blank: true, more: true });
  return makeEntry({
    key: `enter-${kind}`, zone, fields, submit: say("enter.keep", { what: say(`entry.kind.${kind}`).toLowerCase() }), cancel,
    act: (values) => act({ kind, ...said(values), at: values.at ?? start?.at ?? new Date(serviceNow()).toISOString() }),
  });
}

/** @param {any} value */
function shown(value) {
  return Array.isArray(value) ? value.join(", ") : value;
}

/** What is empty is not said. @param {import("../shared/entry.js").Entered} values */
function said(values) {
  const given = Object.fromEntries(Object.entries(values).filter(([, value]) => value !== null && value !== ""));
  return "smell" in given ? { ...given, smell: split(String(given.smell)) } : given;
}

/** The ingredients that calc knows, from the service's own description. @param {Field[]} fields */
async function offerGrains(fields) {
  const described = await get("openapi.json").catch(() => null);
  const schema = described?.components?.schemas?.Grain?.properties?.name;
  const names = schema?.enum ?? described?.components?.schemas?.[String(schema?.$ref ?? "").split("/").at(-1) ?? ""]?.enum;
  const field = fields.find(({ name }) => name === "name");
  if (!field || !Array.isArray(names)) return; // without a network the name is typed
  Object.assign(field, { kind: "choice", value: field.value ?? names[0], choices: names.map((/** @type {string} */ name) => [name, name.replaceAll("-", " ").replaceAll("_", " ")]) });
}
