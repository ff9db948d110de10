// What a back-test says, and where its marks stand. Pure.

import { say } from "../texts.js";

/** @param {AlarmBacktest} found */
export function tested({ runs, not_known }) {
  if (not_known) return say("backtest.unknown", { why: not_known });
  if (runs.length === 0) return say("backtest.none");
  const would = runs.reduce((sum, one) => sum + one.as_tried.length, 0);
  const did = runs.reduce((sum, one) => sum + one.as_set.length, 0);
  return say(runs.length === 1 ? "backtest.says.one" : "backtest.says", { runs: runs.length, would: often(would), did: often(did) });
}

/** @param {number} count */
function often(count) {
  return say(count === 0 ? "backtest.never" : count === 1 ? "backtest.one" : "backtest.number", { count });
}

/** @param {readonly string[]} times @param {{began_at: string, ended_at: string | null}} run @param {number} [now_ms] */
export function positions(times, { began_at, ended_at }, now_ms = Date.now()) {
  const from_ms = Date.parse(began_at);
  const span_ms = Math.max(1, (ended_at === null ? now_ms : Date.parse(ended_at)) - from_ms);
  return times.map((at) => Math.round(Math.min(1, Math.max(0, (Date.parse(at) - from_ms) / span_ms)) * 1000));
}
