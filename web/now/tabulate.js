// The same stretch of time as rows and columns. Pure.

import { day, timeOfDay, timeToSecond, weekday } from "../shared/clock.js";
import { degrees } from "../shared/units.js";
import { linesIn, linesOf } from "./lines.js";
import { knots } from "./polyline.js";
import { instants, stepFor } from "./ticks.js";
import { spanOf } from "./view.js";

const MOST_ROWS = 48;

/** @typedef {{low: number, high: number} | null} Cell null: no reading */
/** @typedef {{from_ms: number, time: string, cells: Cell[]}} Row */
/** @typedef {{lines: import("./lines.js").Line[], rows: Row[], step: import("./ticks.js").Step}} Table */

/**
 * @param {import("./reduce.js").State} state
 * @param {import("../shared/units.js").Unit} unit
 * @param {string} zone
 * @returns {Table} newest row first
 */
export function tabulate(state, unit, zone) {
  const { view, history, live } = state;
  const lines = [...linesIn(linesOf(live, history?.traces ?? []), state.vessel)];
  const step = stepFor(spanOf(view), MOST_ROWS);
  const edges = [...new Set([view.from_ms, ...instants(view.from_ms, view.to_ms, step, zone)])];
  const turn = (/** @type {number} */ celsius) => degrees(celsius, unit);
  const found = lines.map((line) => knots(line.trace, view.from_ms, view.to_ms, turn));
  const rows = edges.map((from_ms, index) => {
    const to_ms = edges[index + 1] ?? view.to_ms;
    const cells = found.map((each) => extremes(each, from_ms, to_ms));
    return { from_ms, time: timeText(from_ms, step, zone), cells };
  });
  return { lines, rows: rows.reverse(), step };
}

/** @param {readonly import("./polyline.js").Knot[]} found @param {number} from_ms @param {number} to_ms @returns {Cell} */
function extremes(found, from_ms, to_ms) {
  const inside = found.filter(({ at }) => at >= from_ms && at < to_ms);
  if (inside.length === 0) return null;
  return {
    low: Math.min(...inside.map(({ low }) => low)),
    high: Math.max(...inside.map(({ high }) => high)),
  };
}

/** @param {number} ms @param {import("./ticks.js").Step} step @param {string} zone */
function timeText(ms, { kind, count }, zone) {
  if (kind !== "minutes") return day(ms, zone);
  return `${weekday(ms, zone)} ${count < 1 ? timeToSecond(ms, zone) : timeOfDay(ms, zone)}`;
}
