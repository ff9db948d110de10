// What a place has been doing, and since when, from its own recent history. Pure.

export const STEADY_BELOW_C_PER_MIN = 0.05;
const MOVED_ABOVE_C_PER_MIN = 0.08; // well above steady, so that noise is not taken for a move
const WINDOW_MS = 6 * 60_000; // slopes of the past are judged over this
const TURN_C = 0.3; // a climb ends where the line came down by this much before it

/** @typedef {import("./polyline.js").Knot} Knot */
/** @typedef {"rising" | "falling" | "steady"} Motion */
/** Since when; `open` where it was so already when the history looked at begins. @typedef {{from_ms: number, open: boolean}} Since */

/**
 * @param {LivePlace} place
 * @returns {Motion | null} null where too little has been read to say
 */
export function motionOf({ trend_per_min }) {
  if (trend_per_min === null) return null;
  if (Math.abs(trend_per_min) < STEADY_BELOW_C_PER_MIN) return "steady";
  return trend_per_min > 0 ? "rising" : "falling";
}

/**
 * Since when a place has been doing what it does: steady is not having moved by more than 0.08
 * degrees a minute over any six minutes; rising is having climbed, without coming down by more
 * than 0.3 degrees, from where it was lowest. Neither looks past a gap.
 * @param {Motion} motion
 * @param {readonly Knot[]} found its recent history in Celsius
 * @returns {Since | null} null where there is too little history to judge by
 */
export function sinceWhen(motion, found) {
  const whole = afterLastGap(found);
  const [first] = whole;
  if (!first || whole.length < 3) return null;
  const from_ms = motion === "steady" ? steadyFrom(whole) : turnBefore(whole, motion === "rising" ? 1 : -1);
  return { from_ms, open: from_ms === first.at };
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
    const late = height(found[end]);
    while (start > 0 && (found[end]?.at ?? 0) - (found[start]?.at ?? 0) < WINDOW_MS) start -= 1;
    const minutes = ((found[end]?.at ?? 0) - (found[start]?.at ?? 0)) / 60_000;
    if (minutes * 60_000 < WINDOW_MS) break;
    if (Math.abs(late - height(found[start])) / minutes > MOVED_ABOVE_C_PER_MIN) {
      return ((found[end]?.at ?? 0) + (found[start]?.at ?? 0)) / 2;
    }
  }
  return found[0]?.at ?? 0;
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
      at = found[index]?.at ?? 0;
    }
  }
  return at;
}
