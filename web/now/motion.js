// What a place has been doing, and since when, from its own recent history. Pure.

export const STEADY_BELOW_C_PER_MIN = 0.1; // a boiling head wavers by half of this
export const WINDOW_MIN = 6; // slopes are judged over this, so that the words do not flicker
const FAST_C_PER_MIN = 0.5; // from here the service's own trend, over two minutes, says it sooner
const TURN_C = 0.3; // a climb ends where the line came down by this much before it
const PACE = 2; // within this factor, a pace is the same pace
const MINUTE_MS = 60_000;
const WINDOW_MS = WINDOW_MIN * MINUTE_MS;

/** @typedef {import("./polyline.js").Knot} Knot */
/** @typedef {"rising" | "falling" | "steady"} Direction */
/** @typedef {{direction: Direction, c_per_min: number}} Motion */
/** Since when; `open` where it was so already when the history looked at begins. @typedef {{from_ms: number, open: boolean}} Since */

/**
 * What a place does, by its last six minutes, or sooner where it moves fast.
 * @param {LivePlace} place
 * @param {readonly Knot[]} found its recent history in Celsius
 * @returns {Motion | null} null where too little has been read to say
 */
export function motionOf({ value, trend_per_min }, found) {
  const slow = slopeOf(value, found);
  const c_per_min = trend_per_min !== null && (slow === null || Math.abs(trend_per_min) >= FAST_C_PER_MIN) ? trend_per_min : slow;
  if (c_per_min === null) return null;
  if (Math.abs(c_per_min) < STEADY_BELOW_C_PER_MIN) return { direction: "steady", c_per_min };
  return { direction: c_per_min > 0 ? "rising" : "falling", c_per_min };
}

/** @param {number | null} value @param {readonly Knot[]} found */
function slopeOf(value, found) {
  const whole = afterLastGap(found);
  const last = whole.at(-1);
  const first = last && whole.findLast(({ at }) => at <= last.at - WINDOW_MS);
  if (!first || value === null) return null;
  return (value - height(first)) / ((last.at - first.at) / MINUTE_MS);
}

/**
 * Since when a place has been doing what it does: steady is not having moved faster than steady
 * allows over any six minutes; rising is having climbed, without coming down by more
 * than 0.3 degrees, from where it was lowest. Neither looks past a gap, and a climb that had
 * another pace before is not said to have been going on.
 * @param {Motion} motion
 * @param {readonly Knot[]} found its recent history in Celsius
 * @returns {Since | null} null where its history does not say
 */
export function sinceWhen({ direction, c_per_min }, found) {
  const whole = afterLastGap(found);
  const [first] = whole;
  if (!first || whole.length < 3) return null;
  const from_ms = direction === "steady" ? steadyFrom(whole) : turnBefore(whole, direction === "rising" ? 1 : -1);
  if (direction !== "steady" && !isPaceSince(from_ms, c_per_min, whole)) return null;
  return { from_ms, open: from_ms === first.at };
}

/** @param {number} from_ms @param {number} c_per_min @param {readonly Knot[]} found */
function isPaceSince(from_ms, c_per_min, found) {
  const last = found.at(-1);
  const start = found.find(({ at }) => at === from_ms);
  if (!last || !start || last.at === start.at) return false;
  const ratio = (height(last) - height(start)) / ((last.at - start.at) / MINUTE_MS) / c_per_min;
  return ratio >= 1 / PACE && ratio <= PACE;
}

/** @param {readonly Knot[]} found */
function afterLastGap(found) {
  const gap = found.findLastIndex((knot) => knot.broken);
  return gap < 0 ? found : found.slice(gap);
}

/** The middle of the last window in which the line moved. @param {readonly Knot[]} found */
function steadyFrom(found) {
  let start = found.length - 1;
  for (let end = found.length - 1; end > 0; end -= 1) {
    while (start > 0 && apart(found, start, end) < WINDOW_MS) start -= 1;
    const minutes = apart(found, start, end) / MINUTE_MS;
    if (minutes < WINDOW_MIN) break;
    const moved = Math.abs(height(found[end]) - height(found[start])) / minutes;
    if (moved >= STEADY_BELOW_C_PER_MIN) return timeOf(found[start]) + apart(found, start, end) / 2;
  }
  return timeOf(found[0]);
}

/** @param {readonly Knot[]} found @param {number} start @param {number} end */
function apart(found, start, end) {
  return timeOf(found[end]) - timeOf(found[start]);
}

/** @param {Knot | undefined} knot */
function timeOf(knot) {
  return knot?.at ?? 0;
}

/** @param {Knot | undefined} knot */
function height(knot) {
  return knot ? (knot.low + knot.high) / 2 : 0;
}

/**
 * Walking back, the last point before which the line had come from the other side.
 * @param {readonly Knot[]} found
 * @param {1 | -1} sign
 */
function turnBefore(found, sign) {
  let extreme = Infinity;
  let at = 0;
  for (let index = found.length - 1; index >= 0; index -= 1) {
    const now = sign * height(found[index]);
    if (now > extreme + TURN_C) break;
    if (now < extreme - TURN_C / 3) {
      extreme = now;
      at = timeOf(found[index]);
    }
  }
  return at;
}
