// The sentence at the head of the page: what is known now, in plain words. Pure.

import { age } from "../shared/ages.js";
import { saidTime } from "../shared/clock.js";
import { degreesApart, temperature, unitSign } from "../shared/units.js";
import { parts, say } from "../texts.js";
import { healthOf, isStale } from "./health.js";
import { keyOf, nameOf, placesOf } from "./lines.js";
import { motionOf, sinceWhen, STEADY_BELOW_C_PER_MIN } from "./motion.js";
import { knots } from "./polyline.js";

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

const MOST_MOVERS = 2;

/** @param {Facts} facts @returns {Sentence} */
export function sentence(facts) {
  const { live } = facts;
  if (!live) return facts.link.phase === "lost" ? lost(facts) : plain("say.loading", "rests.loading");
  const places = placesOf(live);
  if (facts.link.phase === "lost" && isOld(facts, live)) return lost(facts);
  if (isStale(live, facts.now_ms)) return silent(facts, live);
  if (live.scan_ms === null) return unread(places);
  return readings(facts, live, places);
}

/** @param {Facts} facts @param {LiveState} live */
function isOld(facts, live) {
  return live.scan_ms === null || isStale(live, facts.now_ms);
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

/** @param {readonly LivePlace[]} places */
function unread(places) {
  const empty = places.filter((place) => place.probe_id === null);
  if (empty.length === 0 || empty.length < places.length) return plain("say.nothing", "rests.nothing");
  const [only] = empty;
  if (only && empty.length === 1) return plain("say.noprobes.one", "rests.noprobes", { name: nameOf(only) });
  return plain("say.noprobes", "rests.noprobes", { count: empty.length });
}

/**
 * @param {Facts} facts
 * @param {LiveState} live
 * @param {readonly LivePlace[]} places
 * @returns {Sentence}
 */
function readings(facts, live, places) {
  const good = places.filter((place) => healthOf(place, live, facts.now_ms).good);
  if (good.length === 0) return { says: allBad(facts, places), rests: say("rests.allbad") };
  const says = [...hottest(facts, good), ...movers(facts, good), ...bad(places, places.length - good.length, live, facts)];
  return { says: spaced(says), rests: restsOn(facts, live, good, places) };
}

/** @param {Facts} facts @param {readonly LivePlace[]} places */
function allBad({ now_ms, zone }, places) {
  const last = Math.max(...places.map((place) => place.good_ms ?? -Infinity));
  const since = Number.isFinite(last) ? parts("say.since", { time: saidTime(last, now_ms, zone) }) : [];
  const [only] = places;
  if (only && places.length === 1) return parts("say.bad.only", { name: nameOf(only), since });
  return parts("say.bad.all", { since });
}

/** @param {Facts} facts @param {readonly LivePlace[]} good @returns {Part[][]} */
function hottest(facts, good) {
  const top = hottestOf(good);
  const value = temperature(top.value ?? 0, facts.unit);
  const motion = motionClause(facts, top);
  const key = good.length === 1 ? "say.hottest.one" : "say.hottest";
  return [parts(key, { name: fullName(top, good), value, unit: unitSign(facts.unit), motion })];
}

/** @param {readonly LivePlace[]} good at least one */
function hottestOf(good) {
  return good.reduce((best, place) => ((place.value ?? 0) > (best.value ?? 0) ? place : best));
}

/** @param {Facts} facts @param {LivePlace} place @returns {Part[]} */
function motionClause(facts, place) {
  const motion = motionOf(place);
  if (!motion) return [];
  return [...parts(`say.motion.${motion}`, rateWords(facts, place)), ...sinceClause(facts, place, motion)];
}

/** @param {Facts} facts @param {LivePlace} place */
function rateWords({ unit }, { trend_per_min }) {
  const rate = Math.abs(degreesApart(trend_per_min ?? 0, unit)).toFixed(1);
  return { rate, unit: unitSign(unit) };
}

/** @param {Facts} facts @param {LivePlace} place @param {import("./motion.js").Motion} motion @returns {Part[]} */
function sinceClause(facts, place, motion) {
  const found = knots(facts.recent.get(keyOf(place)) ?? null, -Infinity, facts.now_ms, (c) => c);
  const since = sinceWhen(motion, found);
  if (!since) return [];
  if (since.open) return parts("say.forover", { age: age(facts.now_ms - since.from_ms) });
  return parts("say.since", { time: saidTime(since.from_ms, facts.now_ms, facts.zone) });
}

/** @param {Facts} facts @param {readonly LivePlace[]} good @returns {Part[][]} */
function movers(facts, good) {
  const others = good.filter((place) => place !== hottestOf(good));
  const moving = others
    .filter((place) => ["rising", "falling"].includes(motionOf(place) ?? ""))
    .sort((a, b) => Math.abs(b.trend_per_min ?? 0) - Math.abs(a.trend_per_min ?? 0));
  const told = moving.slice(0, MOST_MOVERS).map((place) => mover(facts, place, good));
  return [...told, ...rest(others, moving)];
}

/** @param {Facts} facts @param {LivePlace} place @param {readonly LivePlace[]} good */
function mover(facts, place, good) {
  const motion = motionOf(place) ?? "steady";
  const since = sinceClause(facts, place, motion);
  return parts(`say.${motion}`, { name: fullName(place, good), ...rateWords(facts, place), since });
}

/** @param {readonly LivePlace[]} others @param {readonly LivePlace[]} moving @returns {Part[][]} */
function rest(others, moving) {
  const more = moving.length - MOST_MOVERS;
  const steady = others.filter((place) => motionOf(place) === "steady");
  const [first, second] = steady;
  const said = [];
  if (more > 0) said.push(parts(more === 1 ? "say.more.one" : "say.more", { count: more }));
  if (others.length > 0 && steady.length === others.length) said.push(parts("say.rest.all"));
  else if (first && second && steady.length === 2) {
    said.push(parts("say.rest.two", { first: nameOf(first), second: nameOf(second) }));
  } else if (first && steady.length === 1) said.push(parts("say.rest.one", { name: nameOf(first) }));
  else if (steady.length > 0) said.push(parts("say.rest", { count: steady.length }));
  return said;
}

/**
 * @param {readonly LivePlace[]} places
 * @param {number} count
 * @param {LiveState} live
 * @param {Facts} facts
 * @returns {Part[][]}
 */
function bad(places, count, live, facts) {
  if (count === 0) return [];
  if (count > 1) return [parts("say.bad", { count, all: places.length })];
  const one = places.find((place) => !healthOf(place, live, facts.now_ms).good);
  return one ? [parts("say.bad.one", { name: fullName(one, places) })] : [];
}

/**
 * @param {Facts} facts
 * @param {LiveState} live
 * @param {readonly LivePlace[]} good
 * @param {readonly LivePlace[]} places
 */
function restsOn({ unit, pressure }, live, good, places) {
  const seconds = live.period_s ?? 1;
  const words = {
    good: good.length === 1 ? say("rests.probe") : say("rests.probes", { count: good.length }),
    period: seconds === 1 ? say("rests.period.one") : say("rests.period", { seconds }),
    pressure: pressure ? say("rests.pressure", { pressure: Math.round(pressure.pressure_hpa) }) : "",
    limit: degreesApart(STEADY_BELOW_C_PER_MIN, unit).toFixed(2),
    unit: unitSign(unit),
  };
  const unplaced = places.some((place) => place.place === null) ? ` ${say("rests.unplaced")}` : "";
  return say("rests.readings", words) + unplaced;
}

/** A name that no other shares. @param {LivePlace} place @param {readonly LivePlace[]} among */
export function fullName(place, among) {
  const shared = among.filter((other) => other.place === place.place).length > 1;
  if (place.place === null) return say("name.probe", { id: nameOf(place) });
  if (!shared || place.vessel === null) return nameOf(place);
  return say("name.joined", { place: nameOf(place), vessel: place.vessel });
}

/** @param {readonly Part[][]} clauses @returns {Part[]} */
function spaced(clauses) {
  return clauses.flatMap((clause, index) => (index > 0 ? [{ text: " ", strong: false }, ...clause] : clause));
}
