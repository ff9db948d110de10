// The forms of the vessels page: a vessel, a place, a condenser, and what holds a vessel.

import { send } from "../shared/api.js";
import { makeEntry } from "../shared/entry.js";
import { say } from "../texts.js";
import { materialText } from "./tell.js";

const KINDS = ["still", "fermenter", "mash_tun", "tank", "cask", "other"];
const HEATS = ["none", "element", "flame", "steam"];
const MATERIALS = ["copper", "stainless-steel", "aluminium", "plastic", "wood", "glass", "other"];
const STAGES = ["mash", "ferment", "strip", "spirit", "single", "botanical", "feints", "cleaning", "sacrificial", "proof", "age"];
const STAGE_OF = /** @type {Record<string, string>} */ ({ mash_tun: "mash", fermenter: "ferment", still: "spirit", tank: "proof", cask: "age", other: "cleaning" });
const CONDENSERS = ["product", "reflux", "worm_tub"];

/** @typedef {{zone: string, close: () => void, done: () => Promise<void>, again: () => void}} Ways how a form ends */
/** @typedef {import("../shared/entry.js").Field} Field */
/** @typedef {[string, string]} Choice */

/** @param {string | null} first @param {readonly string[]} values @param {(value: string) => string} label @returns {Choice[]} */
function choices(first, values, label) {
  const all = values.map((value) => /** @type {Choice} */ ([value, label(value)]));
  return first === null ? all : [["", first], ...all];
}

/** @param {(() => VesselRecord) | null} vessel the one to correct @param {Ways} ways */
export function vesselForm(vessel, { zone, close, done, again }) {
  const now = vessel?.();
  const known = MATERIALS.includes(now?.material ?? "copper") ? MATERIALS : [...MATERIALS, now?.material ?? ""];
  /** @type {Field[]} */
  const fields = [
    { name: "name", label: say("vessel.name"), value: now?.name ?? "", hint: say("vessel.name.hint") },
    { name: "kind", label: say("vessel.kind"), kind: "choice", value: now?.kind ?? "still", choices: choices(null, KINDS, (kind) => say(`vessel.kind.${kind}`)) },
    { name: "volume_l", label: say("vessel.volume"), kind: "number", unit: "L", value: now?.volume_l ?? null },
    { name: "heat_source", label: say("vessel.heat"), kind: "choice", value: now?.heat_source ?? "none", choices: choices(null, HEATS, (heat) => say(`vessel.heat.${heat}`)) },
    { name: "power_kw", label: say("vessel.power"), kind: "number", unit: "kW", value: now?.power_kw ?? null, hint: say("vessel.power.hint") },
    { name: "element_cover_l", label: say("vessel.cover"), kind: "number", unit: "L", value: now?.element_cover_l ?? null, hint: say("vessel.cover.hint"), more: true },
    { name: "material", label: say("vessel.material"), kind: "choice", value: now?.material ?? "", choices: choices(say("vessel.notsaid"), known, materialText), more: true },
    { name: "insulation", label: say("vessel.insulation"), value: now?.insulation ?? "", hint: say("vessel.insulation.hint"), more: true },
    { name: "heat_loss_w_per_k", label: say("vessel.loss"), kind: "number", unit: "W/K", value: now?.heat_loss_w_per_k ?? null, hint: say("vessel.loss.hint"), more: true },
  ];
  return makeEntry({
    key: now ? `vessel-${now.id}` : "vessel",
    fields,
    zone,
    submit: say(now ? "entry.save" : "vessel.add"),
    cancel: close,
    again,
    act: async (values) => {
      const stands = vessel?.();
      await (stands ? send("PUT", `vessels/${stands.id}`, {}, { ...values, version: stands.version }) : send("POST", "vessels", {}, values));
      await done();
    },
  });
}

/** @param {VesselRecord} vessel @param {(() => OccupancyRecord) | null} occupancy the one to correct @param {Ways} ways */
export function occupancyForm(vessel, occupancy, { zone, close, done, again }) {
  const now = occupancy?.();
  /** @type {Field[]} */
  const fields = [
    { name: "batch", label: say("occupancy.batch"), value: now?.batch ?? "", hint: say("occupancy.batch.hint") },
    { name: "stage", label: say("occupancy.stage"), kind: "choice", value: now?.stage ?? STAGE_OF[vessel.kind] ?? "mash", choices: choices(null, STAGES, (stage) => say(`stage.${stage}`)) },
    { name: "started_at", label: say("occupancy.from"), kind: "time", value: now?.started_at ?? null, hint: now ? "" : say("entry.now") },
    { name: "ended_at", label: say("occupancy.to"), kind: "time", value: now?.ended_at ?? null, hint: say("occupancy.to.hint"), more: !now },
  ];
  return makeEntry({
    key: `occupancy-${now?.id ?? vessel.id}`,
    fields,
    zone,
    submit: say(now ? "entry.save" : "occupancy.add"),
    cancel: close,
    again,
    act: async (values) => {
      const stands = occupancy?.();
      await (stands ? send("PUT", `occupancies/${stands.id}`, {}, { ...values, vessel_id: vessel.id, version: stands.version }) : send("POST", "occupancies", {}, { ...values, vessel_id: vessel.id }));
      await done();
    },
  });
}

/** End what holds a vessel now. @param {OccupancyRecord} one */
export function endOccupancy({ id, vessel_id, batch, stage, started_at, version }) {
  return send("PUT", `occupancies/${id}`, {}, { vessel_id, batch, stage, started_at, ended_at: new Date().toISOString(), version });
}

/**
 * @param {VesselRecord | null} vessel without one: in the room
 * @param {(() => PlaceRecord) | null} place the one to correct
 * @param {readonly KnownPlace[]} known
 * @param {readonly CondenserRecord[]} condensers
 * @param {Ways} ways
 */
export function placeForm(vessel, place, known, condensers, { zone, close, done, again }) {
  const now = place?.();
  const names = known.filter(({ kinds }) => (vessel ? kinds.includes(vessel.kind) : kinds.length === 0));
  const isKnown = names.some(({ name }) => name === now?.name);
  const still = vessel?.kind === "still";
  /** @type {Field[]} */
  const fields = [
    { name: "known", label: say("place.known"), kind: "choice", value: isKnown ? now?.name ?? "" : now ? "" : (names[0]?.name ?? ""), choices: [...names.map(({ name, label }) => /** @type {Choice} */ ([name, label])), ["", say("place.other")]] },
    { name: "name", label: say("place.name"), value: isKnown ? "" : (now?.name ?? ""), hint: say("place.name.hint"), more: isKnown || (!now && names.length > 0) },
    ...(still ? [
      /** @type {Field} */ ({ name: "condenser_id", label: say("place.condenser"), kind: "choice", value: now?.condenser_id ?? "", choices: [["", say("place.condenser.none")], ...condensers.map(({ id, name }) => /** @type {Choice} */ ([id, name]))], more: true }),
      /** @type {Field} */ ({ name: "head_probe", label: say("place.head"), kind: "choice", value: now?.head_probe ?? "", choices: [["", say("vessel.notsaid")], ["before_reflux", say("place.head.before")], ["after_reflux", say("place.head.after")]], more: true }),
    ] : []),
  ];
  return makeEntry({
    key: `place-${now?.id ?? vessel?.id ?? "room"}`,
    fields,
    zone,
    submit: say(now ? "entry.save" : "place.add"),
    cancel: close,
    again,
    act: async ({ known: chosen, name, ...rest }) => {
      const stands = place?.();
      const body = { name: name ?? chosen ?? "", vessel_id: vessel?.id ?? null, ...rest };
      await (stands ? send("PUT", `places/${stands.id}`, {}, { ...body, version: stands.version }) : send("POST", "places", {}, body));
      await done();
    },
  });
}

/** Add the places the trade has for such a vessel, those not there yet. @param {VesselRecord} vessel @param {readonly KnownPlace[]} known @param {readonly PlaceRecord[]} there */
export async function addUsual(vessel, known, there) {
  for (const name of usual(vessel, known, there)) await send("POST", "places", {}, { name, vessel_id: vessel.id });
}

/** @param {VesselRecord} vessel @param {readonly KnownPlace[]} known @param {readonly PlaceRecord[]} there @returns {string[]} */
export function usual(vessel, known, there) {
  const has = new Set(there.filter((place) => place.vessel_id === vessel.id).map(({ name }) => name));
  return known.filter(({ kinds, name }) => kinds[0] === vessel.kind && name !== "reflux_out" && !has.has(name)).map(({ name }) => name);
}

/** @param {VesselRecord} vessel @param {(() => CondenserRecord) | null} condenser @param {Ways} ways */
export function condenserForm(vessel, condenser, { zone, close, done, again }) {
  const now = condenser?.();
  return makeEntry({
    key: `condenser-${now?.id ?? vessel.id}`,
    zone,
    fields: [
      { name: "kind", label: say("condenser.kind"), kind: "choice", value: now?.kind ?? "product", choices: choices(null, CONDENSERS, (kind) => say(`condenser.kind.${kind}`)) },
      { name: "name", label: say("condenser.name"), value: now?.name ?? "" },
      { name: "flow_l_min", label: say("condenser.flow"), kind: "number", unit: "L/min", value: now?.flow_l_min ?? null, hint: say("condenser.optional") },
      { name: "duty_kw", label: say("condenser.duty"), kind: "number", unit: "kW", value: now?.duty_kw ?? null, hint: say("condenser.optional") },
    ],
    submit: say(now ? "entry.save" : "condenser.add"),
    cancel: close,
    again,
    act: async (values) => {
      const stands = condenser?.();
      const body = { ...values, vessel_id: vessel.id };
      await (stands ? send("PUT", `condensers/${stands.id}`, {}, { ...body, version: stands.version }) : send("POST", "condensers", {}, body));
      await done();
    },
  });
}

