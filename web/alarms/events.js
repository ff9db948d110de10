// What has happened to an alarm, in words; and the filters of the past. Pure.

import { saidTime } from "../shared/clock.js";
import { amount } from "../banner/amount.js";
import { say } from "../texts.js";

const DAY_MS = 864e5;

/** The filters with a fixed choice; the first value is what is shown without one. */
export const FILTERS = /** @type {const} */ ([
  { name: "days", values: ["7", "1", "30", "all"] },
  { name: "priority", values: ["", "high", "medium", "low"] },
  { name: "what", values: ["", "raise", "clear", "acknowledge", "shelve", "take_out_of_service"] },
]);

/** @param {URLSearchParams} chosen @param {number} now_ms @param {number} [before] */
export function queryOf(chosen, now_ms, before) {
  /** @type {Record<string, string | number>} */
  const query = {};
  const days = chosen.get("days") ?? "7";
  if (days !== "all") query.from = new Date(now_ms - Number(days) * DAY_MS).toISOString();
  for (const name of ["priority", "what", "rule"]) {
    const value = chosen.get(name);
    if (value) query[name] = value;
  }
  if (before !== undefined) query.before = before;
  return query;
}

/** "came up: 72.3 °C, limit 70.0 °C", "seen by Ada: tap opened" @param {AlarmHappening} event @param {import("../banner/tell.js").Ground} ground */
export function happened(event, { unit, zone, now_ms }) {
  const { what, who, why, value, limit, shelved_until } = event;
  const words = {
    who,
    why,
    value: value === null ? "" : amount(value, event.unit, unit),
    limit: limit === null ? "" : amount(limit, event.unit, unit),
    until: shelved_until ? saidTime(Date.parse(shelved_until), now_ms, zone) : "",
  };
  const text = say(`happened.${what}`, words);
  const number = NUMBERED.has(what) && value !== null ? say(limit === null ? "happened.value" : "happened.number", words) : "";
  return [text, number, why && say("happened.why", words)].filter(Boolean).join(" ");
}

const NUMBERED = new Set(["raise", "clear", "unshelve", "shelf_expires", "unsuppress", "put_in_service"]);
