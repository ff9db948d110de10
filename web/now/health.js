// Whether what a place shows may be believed now, and if not, why. Pure.

import { has } from "../texts.js";

/**
 * Good, or the key of the reason; since when, where that is known.
 * @typedef {{good: boolean, grade: string, since_ms: number | null}} Health
 */

/** Whether no scan has come for longer than the service says one may take. @param {LiveState} live */
export function isStale({ age_s, stale_after_s }) {
  return age_s !== null && age_s > stale_after_s;
}

/**
 * @param {LivePlace} place
 * @param {LiveState} live
 * @returns {Health}
 */
export function healthOf(place, live) {
  const since_ms = place.good_ms;
  if (place.probe_id === null) return { good: false, grade: "none", since_ms };
  if (live.scan_ms === null) return { good: false, grade: "unread", since_ms };
  if (place.grade !== "ok") return { good: false, grade: known(place.grade), since_ms };
  if (isStale(live)) return { good: false, grade: "stale", since_ms };
  if (place.value === null) return { good: false, grade: "unread", since_ms };
  return { good: true, grade: "ok", since_ms };
}

/** @param {string} grade */
function known(grade) {
  return has(`grade.${grade}`) ? grade : "other";
}

/**
 * The right edge of a following view: the newest reading, or now where none has come for long.
 * @param {{live: LiveState | null, now_ms: number}} state
 */
export function edgeOf({ live, now_ms }) {
  if (!live || live.scan_ms === null || isStale(live)) return now_ms;
  return live.scan_ms;
}
