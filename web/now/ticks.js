// Where the time axis is marked, in the site's own time: also across the days its clock changes.

import {
  day, dayAndMonth, dayOfMonth, instantOf, month, monthAndYear, offsetAt, timeOfDay, timeToSecond,
  wallOf, year,
} from "../shared/clock.js";

/**
 * A mark of the axis: its instant, its text, and the text of the line below where that changes.
 * @typedef {{at_ms: number, text: string, context: string | null}} Tick
 */

const HOUR = 60;
const DAY = 24 * HOUR;

/** Steps within a day, in minutes. */
const WITHIN_DAY = [
  1 / 60, 5 / 60, 10 / 60, 15 / 60, 30 / 60, 1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720,
];
/** Steps of whole days. */
const DAYS = [1, 2, 7, 14];
/** Steps of whole months. */
const MONTHS = [1, 2, 3, 6, 12];

/** A step of the axis. @typedef {{kind: "minutes" | "days" | "months", count: number}} Step */

/**
 * The finest step that marks a stretch of time at most so many times.
 * @param {number} span_ms
 * @param {number} most
 * @returns {Step}
 */
export function stepFor(span_ms, most) {
  const minutes = span_ms / 60_000;
  const fits = (/** @type {number} */ step) => minutes / step <= most;
  const within = WITHIN_DAY.find((step) => fits(step));
  if (within !== undefined) return { kind: "minutes", count: within };
  const days = DAYS.find((step) => fits(step * DAY));
  if (days !== undefined) return { kind: "days", count: days };
  return { kind: "months", count: MONTHS.find((step) => fits(step * 30 * DAY)) ?? 12 };
}

/**
 * The instants of a step within [from, to].
 * @param {number} from_ms
 * @param {number} to_ms
 * @param {Step} step
 * @param {string} zone
 * @returns {number[]}
 */
export function instants(from_ms, to_ms, step, zone) {
  const found = generators[step.kind](from_ms, to_ms, step.count, zone);
  return [...new Set(found)].filter((at) => at >= from_ms && at <= to_ms).sort((a, b) => a - b);
}

/** @type {Record<Step["kind"], (from: number, to: number, count: number, zone: string) => number[]>} */
const generators = {
  minutes: (from, to, count, zone) => (count < HOUR ? evenly(from, to, count, zone) : hours(from, to, count, zone)),
  days: (from, to, count, zone) => days(from, to, count, zone),
  months(from, to, count, zone) {
    const found = [];
    const first = wallOf(from, zone);
    const start = Math.floor((first.y * 12 + first.mo - 1) / count) * count;
    for (let n = start; ; n += count) {
      const at = instantOf(zone, Math.floor(n / 12), (n % 12) + 1, 1);
      if (at > to) return found;
      found.push(at);
    }
  },
};

/**
 * Steps below an hour: evenly, on the local clock's own whole steps.
 * @param {number} from
 * @param {number} to
 * @param {number} minutes
 * @param {string} zone
 */
function evenly(from, to, minutes, zone) {
  const step = Math.round(minutes * 60_000);
  const offset = offsetAt(from, zone);
  const first = Math.ceil((from + offset) / step) * step - offset;
  return Array.from({ length: Math.max(0, Math.floor((to - first) / step) + 1) }, (_, k) => first + k * step);
}

/**
 * Steps of whole hours: counted from each local midnight, so that they stay on it all year.
 * @param {number} from
 * @param {number} to
 * @param {number} minutes
 * @param {string} zone
 */
function hours(from, to, minutes, zone) {
  return days(from, to, 1, zone).flatMap((midnight) => {
    const { y, mo, d } = wallOf(midnight, zone);
    return Array.from({ length: DAY / minutes }, (_, k) => instantOf(zone, y, mo, d, k * minutes));
  });
}

/**
 * Local midnights, on days whose number since 1970 divides by `count`.
 * @param {number} from
 * @param {number} to
 * @param {number} count
 * @param {string} zone
 */
function days(from, to, count, zone) {
  const found = [];
  const first = wallOf(from, zone);
  const number = Math.floor(Date.UTC(first.y, first.mo - 1, first.d) / 864e5);
  for (let n = Math.floor(number / count) * count; ; n += count) {
    const at = instantOf(zone, 1970, 1, 1 + n);
    if (at > to) return found;
    found.push(at);
  }
}

/**
 * The marks of an axis. The first carries the context it stands in, later ones where it changes.
 * @param {number} from_ms
 * @param {number} to_ms
 * @param {number} most
 * @param {string} zone
 * @returns {Tick[]}
 */
export function ticks(from_ms, to_ms, most, zone) {
  const step = stepFor(to_ms - from_ms, most);
  const { text, context } = wording(step);
  let before = context(from_ms, zone);
  return instants(from_ms, to_ms, step, zone).map((at_ms) => {
    const now = context(at_ms, zone);
    const changed = now !== before;
    before = now;
    return { at_ms, text: text(at_ms, zone), context: changed ? now : null };
  });
}

/**
 * What the axis' lower line says at its left edge.
 * @param {number} from_ms
 * @param {number} to_ms
 * @param {number} most
 * @param {string} zone
 */
export function contextAt(from_ms, to_ms, most, zone) {
  return wording(stepFor(to_ms - from_ms, most)).context(from_ms, zone);
}

/**
 * @param {Step} step
 * @returns {{text: (ms: number, zone: string) => string, context: (ms: number, zone: string) => string}}
 */
function wording({ kind, count }) {
  if (kind === "months") return count >= 12 ? { text: year, context: () => "" } : { text: month, context: year };
  if (kind === "days") return count > 2 ? { text: dayAndMonth, context: year } : { text: dayOfMonth, context: monthAndYear };
  return { text: count < 1 ? timeToSecond : timeOfDay, context: day };
}
