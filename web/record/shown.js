// Values of the record as people read them. Pure.

import { timeToSecond } from "../shared/clock.js";
import { has, say } from "../texts.js";

const ID = /^[0-9a-f]{8}-[0-9a-f]{4}-/;

/** @param {any} value @param {string} field @param {string} zone */
export function shownValue(value, field, zone) {
  if (value === null || value === undefined || value === "" || (Array.isArray(value) && value.length === 0)) return say("waiting.nothing");
  if (field.endsWith("at") && typeof value === "string") return timeToSecond(Date.parse(value), zone);
  if (Array.isArray(value)) return value.join(", ");
  if (typeof value === "string" && ID.test(value)) return say("waiting.another");
  for (const group of ["mark", "cut"]) if (typeof value === "string" && has(`${group}.${value}`)) return say(`${group}.${value}`).toLowerCase();
  return String(value);
}
