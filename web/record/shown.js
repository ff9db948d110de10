// Values of the record as people read them. Pure.

import { timeToSecond } from "../shared/clock.js";
import { has, say } from "../texts.js";

/** @param {any} value @param {string} field @param {string} zone */
export function shownValue(value, field, zone) {
  if (value === null || value === undefined || value === "" || (Array.isArray(value) && value.length === 0)) return say("waiting.nothing");
  if (field.endsWith("at") && typeof value === "string") return timeToSecond(Date.parse(value), zone);
  if (Array.isArray(value)) return value.join(", ");
  for (const group of ["mark", "cut"]) if (typeof value === "string" && has(`${group}.${value}`)) return say(`${group}.${value}`).toLowerCase();
  return String(value);
}
