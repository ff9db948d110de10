// The lines of the sheet: what is read now and what was read before, joined by place. Pure.

import { say } from "../texts.js";
import { strokes } from "./strokes.js";

/**
 * @typedef {object} Line
 * @property {string} key the place's id, or the probe's where it has no place
 * @property {string} name as shown: the place, or its vessel where several have such a place
 * @property {string} under what stands under the name, where there are several vessels
 * @property {string} title in full
 * @property {string | null} vessel
 * @property {import("./strokes.js").Stroke} stroke
 * @property {LivePlace | null} live null: it is only in the past
 * @property {Trace | null} trace null: nothing of it in the time loaded
 */

/** @param {{quantity: string}} thing */
export function isTemperature({ quantity }) {
  return quantity === "temperature_c";
}

/** The name of a place as people read it. @param {{place?: string | null, probe_id: string | null}} thing */
export function nameOf({ place, probe_id }) {
  return place?.replaceAll("_", " ") ?? shortId(probe_id ?? "");
}

/** A probe's id by its family and its end, which tell probes apart. @param {string} id */
function shortId(id) {
  return id.length > 12 ? `${id.slice(0, 2)}…${id.slice(-6)}` : id;
}

/** All that is read now. @param {LiveState | null} live @returns {LivePlace[]} */
export function placesOf(live) {
  return live ? [...live.places, ...live.unplaced].filter(isTemperature) : [];
}

/**
 * Add the places that people named and no probe reads, so that none is missing unsaid.
 * @param {LiveState} live
 * @param {readonly NamedPlace[]} places
 * @param {readonly NamedVessel[]} vessels
 * @returns {LiveState}
 */
export function withNamed(live, places, vessels) {
  const read = new Set(live.places.map(({ key }) => key));
  const names = new Map(vessels.map(({ id, name }) => [id, name]));
  const unread = places.filter(({ id }) => !read.has(id)).map(({ id, name, vessel_id }) => ({
    key: id, place: name, vessel: names.get(vessel_id ?? "") ?? null, probe_id: null,
    quantity: "temperature_c", value: null, grade: "none", good_ms: null, last_good_value: null,
    trend_per_min: null,
  }));
  return { ...live, places: [...live.places, ...unread] };
}

/**
 * @param {LiveState | null} live
 * @param {readonly Trace[]} traces
 * @returns {Line[]}
 */
export function linesOf(live, traces) {
  const history = new Map(traces.filter(isTemperature).map((trace) => [trace.key, trace]));
  const now = placesOf(live);
  const read = new Set(now.map(({ key }) => key));
  const past = [...history.values()].filter(({ key }) => !read.has(key));
  const given = strokes([...now, ...past]);
  const names = namesOf([...now, ...past]);
  return [...now, ...past].map((thing, index) => ({
    key: thing.key,
    ...(names[index] ?? { name: "", under: "" }),
    title: [thing.place ?? thing.probe_id, thing.vessel].filter(Boolean).join(" · "),
    vessel: thing.vessel ?? null,
    stroke: given[index] ?? { tone: 0, dash: 0 },
    live: now[index] ?? null,
    trace: history.get(thing.key) ?? null,
  }));
}

/** @param {readonly (LivePlace | Trace)[]} things */
function namesOf(things) {
  const several = new Set(things.map(({ vessel }) => vessel ?? null)).size > 1;
  const places = things.map(({ place }) => place);
  return things.map((thing) => {
    const [name, vessel] = [nameOf(thing), thing.vessel ?? ""];
    const shared = places.filter((place) => place && place === thing.place).length > 1;
    if (shared && vessel) return { name: vessel, under: name };
    return { name, under: several ? vessel : "" };
  });
}

/** The vessels that lines belong to, in order; null is no vessel, and last. @param {readonly Line[]} lines */
export function vesselsOf(lines) {
  const found = new Set(lines.map((line) => line.vessel));
  const none = found.delete(null);
  return none ? [...found, null] : [...found];
}

/**
 * The lines to draw: those of one vessel, or all.
 * @param {readonly Line[]} lines
 * @param {string | null | undefined} vessel undefined is all
 */
export function linesIn(lines, vessel) {
  return vessel === undefined ? lines : lines.filter((line) => line.vessel === vessel);
}

/** A name that no other shares. @param {LivePlace} place @param {readonly LivePlace[]} among */
export function fullName(place, among) {
  const shared = among.filter((other) => other.place === place.place).length > 1;
  if (place.place == null) return say("name.probe", { id: nameOf(place) });
  if (!shared || !place.vessel) return nameOf(place);
  return say("name.joined", { place: nameOf(place), vessel: place.vessel });
}
