// An alarm in words: where, and its number beside its limit. Pure.

import { parts, say } from "../texts.js";
import { amount } from "./amount.js";

/** How an alarm is said here. @typedef {{zone: string, unit: import("../shared/units.js").Unit, now_ms: number}} Ground */

/** "coolant out of Still 1" @param {{place: string, vessel: string}} at */
export function whereOf({ place, vessel }) {
  const spot = place.replaceAll("_", " ");
  return spot && vessel ? say("alarm.at", { place: spot, vessel }) : spot || vessel;
}

/** @param {{value: number | null, unit: string | null, limit: number | null}} alarm @param {Ground} ground */
export function numberParts({ value, unit, limit }, ground) {
  if (value === null) return [];
  const words = { value: amount(value, unit, ground.unit), limit: limit === null ? "" : amount(limit, unit, ground.unit) };
  return parts(limit === null ? "alarm.number.only" : "alarm.number", words);
}

/** @param {{value: number | null, unit: string | null, limit: number | null}} alarm @param {Ground} ground */
export function numberText(alarm, ground) {
  return numberParts(alarm, ground).map(({ text }) => text).join("");
}

/** For outside the page, where nothing else says that a house is simulated. @param {Alarm} alarm @param {boolean} simulated */
export function titleOf({ priority, name }, simulated) {
  const title = `${say(`alarm.priority.${priority}`)}: ${name}`;
  return simulated ? say("alarm.simulated", { title }) : title;
}

/** For a listener: without the number, which would be said anew at every reading. @param {Alarm} alarm */
export function spokenText(alarm) {
  const name = [alarm.name, whereOf(alarm)].filter(Boolean).join(", ");
  return say("alarm.spoken", { priority: say(`alarm.priority.${alarm.priority}`), name, action: alarm.first_action });
}
