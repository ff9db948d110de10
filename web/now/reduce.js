// Everything the live page knows, and how each event changes it. Pure.

import { changedView } from "./reduce_view.js";
import { fold } from "./fold.js";
import { keyOf, linesOf, placesOf, vesselsOf } from "./lines.js";
import { edgeOf } from "./health.js";
import { advance, firstView } from "./view.js";

/** @typedef {import("./fold.js").History} History */

const SCANS_KEPT = 64;

/**
 * @typedef {object} State
 * @property {Site | null} site
 * @property {LiveState | null} live
 * @property {Pressure | null} pressure
 * @property {{phase: "connecting" | "open" | "lost", since_ms: number}} link
 * @property {number} ahead_ms how far the service's clock stands before this browser's
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
 *   | {name: "live", live: LiveState, at_ms: number}
 *   | {name: "scan", scan: ScanMessage}
 *   | {name: "pressure", pressure: Pressure | null}
 *   | {name: "link", phase: "connecting" | "open" | "lost"}
 *   | {name: "tick", at_ms: number}
 *   | {name: "history", history: History}
 *   | {name: "recent", history: History}
 *   | {name: "problem", sentence: string | null}
 *   | import("./reduce_view.js").Sight} Happening
 */

/** @param {number} at_ms this browser's clock @returns {State} */
export function firstState(at_ms) {
  return {
    site: null, live: null, pressure: null, link: { phase: "connecting", since_ms: at_ms },
    ahead_ms: 0, now_ms: at_ms, view: firstView(at_ms), history: null, recent: null,
    scans: [], problem: null, updated: false, vessel: undefined, alone: null, form: "chart",
  };
}

/** @param {State} state @param {Happening} event @returns {State} */
export function reduce(state, event) {
  switch (event.name) {
    case "site": return withSite(state, event.site);
    case "live": return withLive(state, event.live, event.at_ms);
    case "scan": return withScan(state, event.scan);
    case "pressure": return { ...state, pressure: event.pressure };
    case "link": return withLink(state, event.phase);
    case "tick": return following({ ...state, now_ms: event.at_ms + state.ahead_ms });
    case "history": return { ...state, history: caughtUp(state, event.history), problem: null };
    case "recent": return { ...state, recent: caughtUp(state, event.history) };
    case "problem": return { ...state, problem: event.sentence };
    default: return changedView(state, event);
  }
}

/** @param {State} state @param {Site} site @returns {State} */
function withSite(state, site) {
  const updated = state.updated || (state.site !== null && state.site.version !== site.version);
  return { ...state, site, updated };
}

/** @param {State} state @param {LiveState} live @param {number} at_ms @returns {State} */
function withLive(state, live, at_ms) {
  const before = state.live === null;
  const newer = state.scans.filter(({ slot }) => slot > (live.slot ?? -Infinity));
  const next = { ...state, live: newer.reduce(patched, live), ahead_ms: live.now_ms - at_ms, now_ms: live.now_ms };
  const shown = before ? { ...next, view: firstView(edgeOf(next)) } : following(next);
  return { ...shown, ...stillThere(shown) };
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
    live: patched(live, scan),
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
  return new Map(placesOf(live).map((place) => [keyOf(place), place]));
}

/** @param {LiveState} live @param {ScanMessage} scan @returns {LiveState} */
function patched(live, scan) {
  const entries = new Map(scan.readings.map((entry) => [entry[0], entry]));
  const patch = (/** @type {LivePlace} */ place) => read(place, entries.get(keyOf(place)), scan.scan_ms);
  const { slot, scan_ms, period_s } = scan;
  return { ...live, slot, scan_ms, period_s, places: live.places.map(patch), unplaced: live.unplaced.map(patch) };
}

/** @param {LivePlace} place @param {ScanEntry | undefined} entry @param {number} scan_ms @returns {LivePlace} */
function read(place, entry, scan_ms) {
  if (!entry) return place;
  const [, value, grade, trend_per_min = null] = entry;
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
