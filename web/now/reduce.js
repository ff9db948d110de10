// Everything the live page knows, and how each event changes it. Pure.

import { fold } from "./fold.js";
import { linesOf, placesOf, vesselsOf } from "./lines.js";
import { edgeOf } from "./health.js";
import { advance, firstView, following as followingView, move, spanOf, startAt, zoom } from "./view.js";

/** @typedef {import("./fold.js").History} History */

const SCANS_KEPT = 64;

/**
 * @typedef {object} State
 * @property {Site | null} site
 * @property {LiveState | null} live
 * @property {Pressure | null} pressure
 * @property {{phase: "connecting" | "open" | "lost", since_ms: number}} link
 * @property {number} now_ms by the service's clock
 * @property {import("./view.js").View} view
 * @property {History | null} history
 * @property {History | null} recent the last hours, for "since when"
 * @property {readonly ScanMessage[]} scans the newest, for what loads while they come
 * @property {string | null} problem why the history does not load
 * @property {boolean} updated the service has become another version
 * @property {string | null | undefined} vessel shown alone; null is what stands in none, undefined is all
 * @property {string | null} alone the key of the line shown alone
 * @property {"chart" | "table"} form
 */

/**
 * @typedef {{name: "site", site: Site}
 *   | {name: "live", live: LiveState}
 *   | {name: "scan", scan: ScanMessage}
 *   | {name: "pressure", pressure: Pressure | null}
 *   | {name: "link", phase: "connecting" | "open" | "lost"}
 *   | {name: "tick", elapsed_ms: number}
 *   | {name: "history", history: History}
 *   | {name: "recent", history: History}
 *   | {name: "problem", sentence: string | null}
 *   | Sight} Happening
 */

/**
 * What a person does to what is shown.
 * @typedef {{name: "move", fraction: number}
 *   | {name: "zoom", factor: number, anchor: number, landing?: number}
 *   | {name: "range", span_ms: number}
 *   | {name: "follow"}
 *   | {name: "start"}
 *   | {name: "alone", key: string}
 *   | {name: "vessel", vessel: string | null | undefined}
 *   | {name: "form", form: "chart" | "table"}} Sight
 */

/** @param {number} at_ms this browser's clock @returns {State} */
export function firstState(at_ms) {
  return {
    site: null, live: null, pressure: null, link: { phase: "connecting", since_ms: at_ms },
    now_ms: at_ms, view: firstView(at_ms), history: null, recent: null,
    scans: [], problem: null, updated: false, vessel: undefined, alone: null, form: "chart",
  };
}

/** @param {State} state @param {Happening} event @returns {State} */
export function reduce(state, event) {
  switch (event.name) {
    case "site": return withSite(state, event.site);
    case "live": return withLive(state, event.live);
    case "scan": return withScan(state, event.scan);
    case "pressure": return { ...state, pressure: event.pressure };
    case "link": return withLink(state, event.phase);
    case "tick": return following(older(state, event.elapsed_ms));
    case "history": return { ...state, history: caughtUp(state, event.history), problem: null };
    case "recent": return { ...state, recent: caughtUp(state, event.history) };
    case "problem": return { ...state, problem: event.sentence };
    default: return changedView(state, event);
  }
}

/** @param {State} state @param {Site} site @returns {State} */
function withSite(state, site) {
  const updated = state.updated || (state.site !== null && state.site.program_version !== site.program_version);
  return { ...state, site, updated };
}

/** @param {State} state @param {LiveState} live @returns {State} */
function withLive(state, live) {
  const newer = state.scans.filter(({ slot }) => slot > (live.slot ?? -Infinity));
  const next = { ...state, live: newer.reduce(patched, live), now_ms: live.now_ms };
  const shown = state.live ? following(next) : { ...next, view: firstView(edgeOf(next)) };
  return { ...shown, ...stillThere(shown) };
}

/** Time has passed: what was read is older by that. @param {State} state @param {number} ms @returns {State} */
function older(state, ms) {
  const { live, now_ms } = state;
  const aged = live && { ...live, age_s: live.age_s === null ? null : live.age_s + ms / 1000 };
  return { ...state, now_ms: now_ms + ms, live: aged };
}

/** Drop choices whose line or vessel has gone. @param {State} state */
function stillThere({ live, history, vessel, alone }) {
  const lines = linesOf(live, history?.traces ?? []);
  return {
    vessel: vesselsOf(lines).some((known) => known === vessel) ? vessel : undefined,
    alone: lines.some((line) => line.key === alone) ? alone : null,
  };
}

/** @param {State} state @param {ScanMessage} scan @returns {State} */
function withScan(state, scan) {
  const { live } = state;
  const scans = [...state.scans.slice(1 - SCANS_KEPT), scan];
  if (!live || scan.slot <= (live.slot ?? -Infinity)) return { ...state, scans };
  const places = placesByKey(live);
  return following({
    ...state,
    scans,
    live: { ...patched(live, scan), ...(state.link.phase === "open" ? {} : { age_s: live.age_s }) },
    now_ms: Math.max(state.now_ms, scan.scan_ms),
    history: state.history && fold(state.history, scan, places),
    recent: state.recent && fold(state.recent, scan, places),
  });
}

/** A history that was asked for before the newest scans came. @param {State} state @param {History} history */
function caughtUp({ live, scans }, history) {
  return live ? scans.reduce((sum, scan) => fold(sum, scan, placesByKey(live)), history) : history;
}

/** @param {LiveState} live */
function placesByKey(live) {
  return new Map(placesOf(live).map((place) => [place.key, place]));
}

/** @param {LiveState} live @param {ScanMessage} scan @returns {LiveState} */
function patched(live, scan) {
  const entries = new Map(scan.readings.map((entry) => [entry[0], entry]));
  const patch = (/** @type {LivePlace} */ place) => read(place, entries.get(place.key), scan.scan_ms);
  const { slot, scan_ms, period_s } = scan;
  return { ...live, slot, scan_ms, period_s, age_s: 0, places: live.places.map(patch), unplaced: live.unplaced.map(patch) };
}

/** @param {LivePlace} place @param {ScanEntry | undefined} entry @param {number} scan_ms @returns {LivePlace} */
function read(place, entry, scan_ms) {
  if (!entry) return place;
  const [, value, grade, trend_per_min] = entry;
  if (value === null) return { ...place, value, grade, trend_per_min: null };
  return { ...place, value, grade, trend_per_min, good_ms: scan_ms, last_good_value: value };
}

/** @param {State} state @param {State["link"]["phase"]} phase @returns {State} */
function withLink(state, phase) {
  if (state.link.phase === phase) return state;
  return { ...state, link: { phase, since_ms: state.now_ms } };
}

/** @param {State} state @returns {State} */
function following(state) {
  return { ...state, view: advance(state.view, edgeOf(state)) };
}

/** @param {State} state @param {Sight} event @returns {State} */
function changedView(state, event) {
  const { view } = state;
  const edge = edgeOf(state);
  switch (event.name) {
    case "move": return { ...state, view: move(view, event.fraction, edge) };
    case "zoom": return { ...state, view: zoom(view, event.factor, event.anchor, edge, event.landing) };
    case "range": return { ...state, view: followingView(event.span_ms, edge) };
    case "follow": return { ...state, view: followingView(spanOf(view), edge) };
    case "start": return { ...state, view: startAt(view, startOf(state), edge) };
    case "alone": return { ...state, alone: state.alone === event.key ? null : event.key };
    case "vessel": return { ...state, vessel: event.vessel, alone: null };
    case "form": return { ...state, form: event.form };
  }
}

/** The first instant of what is loaded. @param {State} state */
function startOf({ history, view }) {
  const starts = (history?.traces ?? []).flatMap(({ segments }) => segments.map(({ t0_ms }) => t0_ms));
  return Math.min(view.from_ms, ...starts);
}
