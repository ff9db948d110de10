// What is known now, in plain words: the sentence at the head of the page, what is to be checked,
// and the tab's title. Pure.

import { age, saidTime } from "../shared/clock.js";
import { temperature, unitSign } from "../shared/units.js";
import { parts, say } from "../texts.js";
import { healthOf, isStale } from "./health.js";
import { fullName, nameOf, placesOf } from "./lines.js";
import { readings } from "./readings.js";

/**
 * What the sentence is made from.
 * @typedef {object} Facts
 * @property {LiveState | null} live
 * @property {{phase: "connecting" | "open" | "lost", since_ms: number}} link
 * @property {ReadonlyMap<string, Trace>} recent the last hours of each place, by key
 * @property {Pressure | null} pressure
 * @property {import("../shared/units.js").Unit} unit
 * @property {string} zone
 * @property {number} now_ms
 */

/** @typedef {import("../texts.js").Part} Part */
/** A sentence and what it rests on. @typedef {{says: Part[], rests: string}} Sentence */

/** @param {Facts} facts @returns {Sentence} */
export function sentence(facts) {
  const { live } = facts;
  if (!live) return facts.link.phase === "lost" ? lost(facts) : plain("say.loading", "rests.loading");
  const places = placesOf(live);
  if (facts.link.phase === "lost" && isOld(live)) return lost(facts);
  if (isStale(live)) return silent(facts, live);
  if (live.scan_ms === null || places.every(neverRead)) return unread(places);
  return readings(facts, live, places);
}

/** @param {LiveState} live */
function isOld(live) {
  return live.scan_ms === null || isStale(live);
}

/** @param {string} says @param {string} rests @param {import("../texts.js").Words} [words] @returns {Sentence} */
function plain(says, rests, words = {}) {
  return { says: parts(says, words), rests: say(rests) };
}

/** @param {Facts} facts */
function lost({ live, link, now_ms, zone }) {
  const since_ms = live?.scan_ms ?? link.since_ms;
  const words = { time: saidTime(since_ms, now_ms, zone), age: age(now_ms - since_ms) };
  return plain("say.lost", "rests.lost", words);
}

/** @param {Facts} facts @param {LiveState} live */
function silent({ now_ms, zone }, { scan_ms }) {
  const since_ms = scan_ms ?? now_ms;
  const words = { time: saidTime(since_ms, now_ms, zone), age: age(now_ms - since_ms) };
  return plain("say.silent", "rests.silent", words);
}

/** @param {LivePlace} place */
function neverRead({ probe_id, good_ms }) {
  return probe_id === null && good_ms === null;
}

/** @param {readonly LivePlace[]} places */
function unread(places) {
  const empty = places.filter((place) => place.probe_id === null);
  if (empty.length === 0 || empty.length < places.length) return plain("say.nothing", "rests.nothing");
  const [only] = empty;
  if (only && empty.length === 1) return plain("say.noprobes.one", "rests.noprobes", { name: nameOf(only) });
  return plain("say.noprobes", "rests.noprobes", { count: empty.length });
}

const MOST_NAMES = 3;

/** @typedef {{key: string, parts: Part[]}} Trouble */

/**
 * What gives no good reading, why, and what to do about it: one line a cause.
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
    const { good, grade } = healthOf(place, live);
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
  return { key: `${grade} ${places.map(({ key }) => key).join(" ")}`, parts: parts("trouble.one", words) };
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/**
 * The tab's title says the state, so that a glance at the tabs is enough.
 * @param {import("./reduce.js").State} state
 * @param {import("../shared/units.js").Unit} unit
 */
export function title(state, unit) {
  const simulated = state.site?.simulated ? say("title.simulated") : "";
  return [stateText(state, unit), simulated, say("app.name")].filter(Boolean).join(" · ");
}

/** @param {import("./reduce.js").State} state @param {import("../shared/units.js").Unit} unit */
function stateText({ live, link }, unit) {
  if (link.phase === "lost") return say("title.lost");
  if (!live) return "";
  if (live.scan_ms === null) return say("title.nothing");
  if (isStale(live)) return say("title.silent");
  const places = placesOf(live);
  const health = places.map((place) => healthOf(place, live));
  const bad = places.filter((_, index) => !health[index]?.good);
  const [first] = bad;
  const good = places.filter((_, index) => health[index]?.good);
  const warning = first ? warn(bad.length, nameOf(first), health[places.indexOf(first)]?.grade ?? "other") : "";
  return [warning, hottestText(good, unit)].filter(Boolean).join(" · ");
}

/** @param {number} count @param {string} name @param {string} grade */
function warn(count, name, grade) {
  return count === 1 ? say("title.bad", { name, reason: say(`grade.${grade}`) }) : say("title.bads", { count });
}

/** @param {readonly LivePlace[]} good @param {import("../shared/units.js").Unit} unit */
function hottestText(good, unit) {
  const [top] = [...good].sort((a, b) => (b.value ?? 0) - (a.value ?? 0));
  if (!top) return "";
  return say("title.value", { value: temperature(top.value ?? 0, unit), unit: unitSign(unit), name: nameOf(top) });
}
