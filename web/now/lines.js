// The lines of the sheet: what is read now and what was read before, joined by place. Pure.

import { strokes } from "./strokes.js";

/**
 * @typedef {object} Line
 * @property {string} key the place's id, or the probe's where it has no place
 * @property {string} name as shown
 * @property {string} title in full
 * @property {string | null} vessel
 * @property {import("./strokes.js").Stroke} stroke
 * @property {LivePlace | null} live null: it is only in the past
 * @property {Trace | null} trace null: nothing of it in the time loaded
 */

/** @param {{id?: string | null, place_id?: string | null, probe_id?: string | null}} thing */
export function keyOf(thing) {
  return thing.id ?? thing.place_id ?? thing.probe_id ?? "";
}

/** @param {{unit: string}} thing */
export function isTemperature({ unit }) {
  return ["C", "°C", "temperature_c"].includes(unit);
}

/** The name of a place as people read it. @param {{place: string | null, probe_id?: string | null}} thing */
export function nameOf({ place, probe_id }) {
  return place === null ? shortId(probe_id ?? "") : place.replaceAll("_", " ");
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
 * @param {LiveState | null} live
 * @param {readonly Trace[]} traces
 * @returns {Line[]}
 */
export function linesOf(live, traces) {
  const history = new Map(traces.filter(isTemperature).map((trace) => [keyOf(trace), trace]));
  const now = placesOf(live);
  const read = new Set(now.map(keyOf));
  const past = [...history.values()].filter((trace) => !read.has(keyOf(trace)));
  const given = strokes([...now, ...past]);
  return [...now, ...past].map((thing, index) => ({
    key: keyOf(thing),
    name: nameOf(thing),
    title: [thing.place ?? thing.probe_id, thing.vessel].filter(Boolean).join(" · "),
    vessel: thing.vessel,
    stroke: given[index] ?? { tone: 0, dash: 0 },
    live: now[index] ?? null,
    trace: history.get(keyOf(thing)) ?? null,
  }));
}

/** The vessels that lines belong to, in order; null is no vessel. @param {readonly Line[]} lines */
export function vesselsOf(lines) {
  return [...new Set(lines.map((line) => line.vessel))];
}

/**
 * The lines to draw: those of one vessel, or all.
 * @param {readonly Line[]} lines
 * @param {string | null | undefined} vessel undefined is all
 */
export function linesIn(lines, vessel) {
  return vessel === undefined ? lines : lines.filter((line) => line.vessel === vessel);
}
