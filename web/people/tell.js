// What the page People says first, from who may come in. Pure.

import { parts, say } from "../texts.js";

/** @typedef {import("../texts.js").Part} Part */

/**
 * @param {Me} me
 * @param {number} people
 * @param {number} phones
 * @param {number} programs
 * @returns {Part[]}
 */
export function tellPeople(me, people, phones, programs) {
  if (me.role !== "own") return parts("people.says.me", { name: me.name, role: say(`role.${me.role}`) });
  const counted = [counts("person", people), counts("phone", phones), counts("token", programs)].filter((one) => one.length > 0);
  if (counted.length === 0) return parts("people.says.nobody");
  const who = counted.flatMap((one, at) => [...(at === 0 ? [] : parts(at === counted.length - 1 ? "people.says.and" : "people.says.join")), ...one]);
  return parts("people.says.may", { who: capitalised(who) });
}

/** @param {string} kind @param {number} count */
function counts(kind, count) {
  if (count === 0) return [];
  return parts(count === 1 ? `people.says.${kind}.one` : `people.says.${kind}`, { count });
}

/** @param {Part[]} said */
function capitalised([first, ...rest]) {
  if (!first) return rest;
  return [{ ...first, text: first.text.charAt(0).toUpperCase() + first.text.slice(1) }, ...rest];
}

/** @param {Me} me @param {boolean} simulated */
export function tellRests(me, simulated) {
  if (simulated) return say("people.rests.simulation");
  if (me.role !== "own") return say("people.rests.other");
  return me.session_id === null ? say("people.rests.machine") : say("people.rests.me", { name: me.name });
}

/** The scopes as typed, commas or spaces between. @param {string} text */
export function scopesOf(text) {
  return text.split(/[\s,]+/).filter((one) => one !== "");
}
