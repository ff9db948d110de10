// How long ago, in words.

import { say } from "../texts.js";

const STEPS = /** @type {const} */ ([
  ["age.days", 86_400],
  ["age.hours", 3_600],
  ["age.minutes", 60],
  ["age.seconds", 1],
]);

/** "12 s", "4 min", "3 h", "2 d" @param {number} ms */
export function age(ms) {
  const seconds = Math.max(0, Math.round(ms / 1000));
  const [key, size] = STEPS.find(([, each]) => seconds >= each * (each >= 60 ? 2 : 1)) ?? STEPS[3];
  return say(key, { count: Math.round(seconds / size) });
}

/**
 * "just now" while a reading is as new as its cadence allows, else "12 s ago".
 * @param {number} ms
 * @param {number} period_s
 */
export function ago(ms, period_s) {
  if (ms < (period_s + 2) * 1000) return say("age.now");
  return say("age.ago", { age: age(ms) });
}
