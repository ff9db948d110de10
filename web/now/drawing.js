// What the sheet draws, worked out from what is known. Pure: no page, no chart library.

import { degrees } from "../shared/units.js";
import { edgeOf, healthOf } from "./health.js";
import { linesIn, linesOf } from "./lines.js";
import { knots, silences, stretches } from "./polyline.js";
import { heightOf, marksOf, scaleFor } from "./scale.js";
import { spanOf } from "./view.js";

const PIXELS_PER_MARK = 64;
const GAP_PERIODS = 2.5;

/**
 * One line as drawn; `end` is the height (0 bottom, 1 top) at which its label belongs, and
 * `reaches` whether the line itself runs to the right edge there.
 * @typedef {object} Drawn
 * @property {import("./lines.js").Line} line
 * @property {import("./polyline.js").Knot[]} knots
 * @property {import("./polyline.js").Knot[][]} runs
 * @property {boolean} faded another line is shown alone
 * @property {number} end
 * @property {boolean} reaches
 */

/**
 * @typedef {object} Drawing
 * @property {import("./view.js").View} view
 * @property {Drawn[]} lines
 * @property {import("./scale.js").Scale} scale
 * @property {number[]} marks temperatures with a rule across the sheet
 * @property {[number, number][]} silences
 * @property {number} bucket_ms
 */

/**
 * @param {import("./reduce.js").State} state
 * @param {import("../shared/units.js").Unit} unit
 * @param {number} height in pixels
 * @returns {Drawing}
 */
export function drawing(state, unit, height) {
  const { view, history, live } = state;
  const turn = (/** @type {number} */ celsius) => degrees(celsius, unit);
  const all = linesIn(linesOf(live, history?.traces ?? []), state.vessel).map((line) => ({
    line,
    knots: knots(line.trace, view.from_ms, view.to_ms, turn),
  }));
  const there = all.filter(({ line, knots: own }) => line.live || visible(own, view).length > 0);
  const shown = there.map(({ line }) => line);
  const found = there.map((each) => each.knots);
  const apart = (/** @type {number} */ index) => state.alone !== null && shown[index]?.key !== state.alone;
  const scale = scaleFor(found.filter((_, index) => !apart(index)).map((each) => visible(each, view)), height / PIXELS_PER_MARK);
  const lines = shown.map((line, index) => {
    const own = found[index] ?? [];
    const faded = apart(index);
    return { line, knots: own, runs: stretches(own), faded, ...endOf(state, line, own, scale, turn) };
  });
  return {
    view, lines, scale, marks: found.some((own) => own.length > 0) ? marksOf(scale) : [],
    silences: silencesIn(state, lines), bucket_ms: bucketOf(history),
  };
}

/** @param {readonly import("./polyline.js").Knot[]} found @param {import("./view.js").View} view */
function visible(found, { from_ms, to_ms }) {
  return found.filter(({ at }) => at >= from_ms && at <= to_ms);
}

/** @param {import("./fold.js").History | null} history */
function bucketOf(history) {
  const segments = history?.traces.flatMap((trace) => trace.segments) ?? [];
  return Math.max(1000, ...segments.map((segment) => segment.dt_ms));
}

/**
 * @param {import("./reduce.js").State} state
 * @param {import("./lines.js").Line} line
 * @param {readonly import("./polyline.js").Knot[]} found
 * @param {import("./scale.js").Scale} scale
 * @param {(celsius: number) => number} turn
 */
function endOf(state, line, found, scale, turn) {
  const { view, live } = state;
  const last = found.findLast(({ at }) => at <= view.to_ms) ?? found.at(-1);
  const middle = last && (last.low + last.high) / 2;
  const good = live && line.live && healthOf(line.live, live).good;
  const now = line.live?.value ?? line.live?.last_good_value ?? null;
  const value = view.following && now !== null ? turn(now) : middle;
  const reaches = view.following ? Boolean(good) : last !== undefined && (view.to_ms - last.at) / spanOf(view) < 0.02;
  const height = value === undefined ? 0.5 : heightOf(scale, value);
  return { end: Math.min(1, Math.max(0, height)), reaches };
}

/**
 * @param {import("./reduce.js").State} state
 * @param {readonly Drawn[]} lines
 * @returns {[number, number][]}
 */
function silencesIn(state, lines) {
  const { view, history, live } = state;
  if (!history || lines.every((line) => line.runs.length === 0)) return [];
  const from = Math.max(view.from_ms, history.want.from_ms);
  const to = Math.min(view.to_ms, history.want.to_ms, edgeOf(state));
  if (to <= from) return [];
  const bucket_ms = bucketOf(history);
  const least_ms = Math.max(2 * bucket_ms, GAP_PERIODS * 1000 * (live?.period_s ?? 10), 30_000);
  return silences(lines.map((line) => line.runs), from, to, least_ms);
}
