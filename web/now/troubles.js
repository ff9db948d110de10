// What gives no good reading, why, and what to do about it: one line a cause. Pure.

import { saidTime } from "../shared/clock.js";
import { parts, say } from "../texts.js";
import { healthOf } from "./health.js";
import { keyOf, placesOf } from "./lines.js";
import { fullName } from "./sentence.js";

const MOST_NAMES = 3;

/** @typedef {{key: string, parts: import("../texts.js").Part[]}} Trouble */

/**
 * @param {LiveState | null} live
 * @param {number} now_ms
 * @param {string} zone
 * @returns {Trouble[]}
 */
export function troubles(live, now_ms, zone) {
  if (!live || live.scan_ms === null) return [];
  /** @type {Map<string, LivePlace[]>} */
  const byGrade = new Map();
  for (const place of placesOf(live)) {
    const { good, grade } = healthOf(place, live, now_ms);
    if (!good && grade !== "stale") byGrade.set(grade, [...(byGrade.get(grade) ?? []), place]);
  }
  return [...byGrade].map(([grade, places]) => trouble(grade, places, live, now_ms, zone));
}

/**
 * @param {string} grade
 * @param {readonly LivePlace[]} places
 * @param {LiveState} live
 * @param {number} now_ms
 * @param {string} zone
 * @returns {Trouble}
 */
function trouble(grade, places, live, now_ms, zone) {
  const all = placesOf(live);
  const names =
    places.length > MOST_NAMES
      ? say("trouble.many", { count: places.length })
      : places.map((place) => fullName(place, all)).join(", ");
  const last = Math.max(...places.map((place) => place.good_ms ?? -Infinity));
  const since = Number.isFinite(last)
    ? say("trouble.since", { time: saidTime(last, now_ms, zone) })
    : grade === "none" ? "" : say("trouble.never");
  const words = { names: capital(names), reason: say(`why.${grade}`), since, todo: say(`todo.${grade}`) };
  return { key: `${grade} ${places.map(keyOf).join(" ")}`, parts: parts("trouble.one", words) };
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
