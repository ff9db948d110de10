// The stretch of time that is shown, and how dragging, zooming and following move it. Pure.

/**
 * Either following (its right edge is the newest reading) or standing where it was left.
 * @typedef {{following: boolean, from_ms: number, to_ms: number}} View
 */

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;

/** The ranges offered, by the key of their text. @type {readonly [string, number][]} */
export const RANGES = [
  ["10min", 10 * MINUTE],
  ["1h", HOUR],
  ["6h", 6 * HOUR],
  ["24h", DAY],
  ["7d", 7 * DAY],
  ["30d", 30 * DAY],
  ["1y", 365 * DAY],
];
export const SHORTEST_MS = MINUTE;
export const LONGEST_MS = 2 * 365 * DAY;
const EARLIEST_MS = Date.UTC(2000, 0, 1);
const FIRST_RANGE_MS = 6 * HOUR;
const ALMOST = 0.02;
const MOST_BUCKETS = 600;
const BUCKETS_PER_PIXEL = 0.75;

/** @param {number} now_ms @returns {View} */
export function firstView(now_ms) {
  return following(FIRST_RANGE_MS, now_ms);
}

/** @param {View} view */
export function spanOf(view) {
  return view.to_ms - view.from_ms;
}

/** @param {number} span_ms @param {number} now_ms @returns {View} */
export function following(span_ms, now_ms) {
  const span = Math.min(LONGEST_MS, Math.max(SHORTEST_MS, span_ms));
  return { following: true, from_ms: now_ms - span, to_ms: now_ms };
}

/** Bring a following view's right edge to now. @param {View} view @param {number} now_ms */
export function advance(view, now_ms) {
  return view.following ? following(spanOf(view), now_ms) : view;
}

/**
 * Move by a part of what is shown: positive is later. Reaching now, or almost, is following: now
 * has moved on in the meantime.
 * @param {View} view
 * @param {number} fraction
 * @param {number} now_ms
 */
export function move(view, fraction, now_ms) {
  const to_ms = view.to_ms + fraction * spanOf(view);
  if (fraction > 0 && to_ms >= now_ms - ALMOST * spanOf(view)) return following(spanOf(view), now_ms);
  return place(view.from_ms + fraction * spanOf(view), spanOf(view), now_ms);
}

/**
 * Show `factor` times as much time (below 1 is closer). What stands at `anchor` (0 is the left
 * edge, 1 the right) comes to stand at `landing`. A following view is held at its right edge.
 * @param {View} view
 * @param {number} factor
 * @param {number} anchor
 * @param {number} now_ms
 * @param {number} [landing]
 */
export function zoom(view, factor, anchor, now_ms, landing = anchor) {
  const span = Math.min(LONGEST_MS, Math.max(SHORTEST_MS, spanOf(view) * factor));
  if (view.following) return following(span, now_ms);
  return place(view.from_ms + anchor * spanOf(view) - landing * span, span, now_ms);
}

/** Show the same length of time from an instant on. @param {View} view @param {number} from_ms @param {number} now_ms */
export function startAt(view, from_ms, now_ms) {
  return place(from_ms, spanOf(view), now_ms);
}

/**
 * @param {number} from_ms
 * @param {number} span
 * @param {number} now_ms
 * @returns {View}
 */
function place(from_ms, span, now_ms) {
  if (from_ms + span >= now_ms) return following(span, now_ms);
  const from = Math.max(EARLIEST_MS, from_ms);
  return { following: false, from_ms: from, to_ms: from + span };
}

/** What to ask the history for. @typedef {{from_ms: number, to_ms: number, bucket_ms: number}} Want */

/**
 * What to load so that a view is sharp on so many pixels and can be dragged half its length
 * either way before more is needed.
 * @param {View} view
 * @param {number} pixels
 * @param {number} now_ms
 * @returns {Want}
 */
export function wanted(view, pixels, now_ms) {
  const span = spanOf(view);
  const from_ms = Math.floor(view.from_ms - span / 2);
  const to_ms = Math.ceil(Math.min(view.to_ms + span / 2, now_ms));
  return { from_ms, to_ms, bucket_ms: span / bucketsOn(pixels) };
}

/** @param {number} pixels */
export function bucketsOn(pixels) {
  return Math.min(MOST_BUCKETS, Math.max(120, Math.round(pixels * BUCKETS_PER_PIXEL)));
}

/**
 * Whether what was asked for before still serves a view: it covers it, is neither too coarse nor
 * wastefully fine, and has not grown too long by following.
 * @param {Want} asked
 * @param {View} view
 * @param {number} pixels
 * @param {number} now_ms
 */
export function serves(asked, view, pixels, now_ms) {
  const covers = asked.from_ms <= view.from_ms && (view.following || asked.to_ms >= Math.min(view.to_ms, now_ms));
  const sharper = spanOf(view) / bucketsOn(pixels) / asked.bucket_ms;
  const length = (asked.to_ms - asked.from_ms) / spanOf(view);
  return covers && sharper >= 0.75 && sharper <= 2.5 && length <= 4;
}
