// What the readings say: the hottest place, what moves and since when, what is steady. Pure.

import { age, saidTime } from "../shared/clock.js";
import { degreesApart, temperature, unitSign } from "../shared/units.js";
import { parts, say } from "../texts.js";
import { healthOf } from "./health.js";
import { fullName, nameOf } from "./lines.js";
import { motionOf, sinceWhen, STEADY_BELOW_C_PER_MIN, WINDOW_MIN } from "./motion.js";
import { knots } from "./polyline.js";

/** @typedef {import("./sentence.js").Facts} Facts */
/** @typedef {import("../texts.js").Part} Part */
/** @typedef {import("./motion.js").Motion} Motion */

const MOST_MOVERS = 2;

/**
 * @param {Facts} facts
 * @param {LiveState} live
 * @param {readonly LivePlace[]} places
 * @returns {import("./sentence.js").Sentence}
 */
export function readings(facts, live, places) {
  const good = places.filter((place) => healthOf(place, live).good);
  if (good.length === 0) return { says: allBad(facts, places), rests: say("rests.allbad") };
  const says = [...hottest(facts, good), ...movers(facts, good), ...bad(places, places.length - good.length, live)];
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
  const motion = motionIn(facts, place);
  if (!motion) return [];
  const words = rateWords(facts, motion);
  return [...parts(`say.motion.${motion.direction}`, words), ...sinceClause(facts, place, motion)];
}

/** @param {Facts} facts @param {LivePlace} place */
function motionIn(facts, place) {
  return motionOf(place, recentOf(facts, place));
}

/** @param {Facts} facts @param {LivePlace} place */
function recentOf({ recent, now_ms }, { key }) {
  return knots(recent.get(key) ?? null, -Infinity, now_ms, (celsius) => celsius);
}

/** @param {Facts} facts @param {Motion} motion */
function rateWords({ unit }, { c_per_min }) {
  return { rate: Math.abs(degreesApart(c_per_min, unit)).toFixed(1), unit: unitSign(unit) };
}

/** @param {Facts} facts @param {LivePlace} place @param {Motion} motion @returns {Part[]} */
function sinceClause(facts, place, motion) {
  const since = sinceWhen(motion, recentOf(facts, place));
  if (!since) return [];
  if (since.open) return parts("say.forover", { age: age(facts.now_ms - since.from_ms) });
  return parts("say.since", { time: saidTime(since.from_ms, facts.now_ms, facts.zone) });
}

/** @param {Facts} facts @param {readonly LivePlace[]} good @returns {Part[][]} */
function movers(facts, good) {
  const others = good
    .filter((place) => place !== hottestOf(good))
    .map((place) => ({ place, motion: motionIn(facts, place) }));
  const moving = others
    .filter(({ motion }) => motion && motion.direction !== "steady")
    .sort((a, b) => Math.abs(b.motion?.c_per_min ?? 0) - Math.abs(a.motion?.c_per_min ?? 0));
  const told = moving.slice(0, MOST_MOVERS).map(({ place, motion }) => mover(facts, place, motion, good));
  const steady = others.filter(({ motion }) => motion?.direction === "steady").map(({ place }) => place);
  return [...told, ...rest(steady, others.length, moving.length - told.length)];
}

/** @param {Facts} facts @param {LivePlace} place @param {Motion | null} motion @param {readonly LivePlace[]} good */
function mover(facts, place, motion, good) {
  if (!motion) return [];
  const words = { name: fullName(place, good), ...rateWords(facts, motion), since: sinceClause(facts, place, motion) };
  return parts(`say.${motion.direction}`, words);
}

/**
 * @param {readonly LivePlace[]} steady
 * @param {number} others all but the hottest
 * @param {number} more moving ones that were not told
 * @returns {Part[][]}
 */
function rest(steady, others, more) {
  const said = [];
  if (more > 0) said.push(parts(more === 1 ? "say.more.one" : "say.more", { count: more }));
  const [first, second] = steady;
  if (others > 0 && steady.length === others) said.push(parts("say.rest.all"));
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
 * @returns {Part[][]}
 */
function bad(places, count, live) {
  if (count === 0) return [];
  if (count > 1) return [parts("say.bad", { count, all: places.length })];
  const one = places.find((place) => !healthOf(place, live).good);
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
    limit: degreesApart(STEADY_BELOW_C_PER_MIN, unit).toFixed(1),
    minutes: WINDOW_MIN,
    unit: unitSign(unit),
  };
  const unplaced = places.some((place) => place.place == null) ? ` ${say("rests.unplaced")}` : "";
  return say("rests.readings", words) + unplaced;
}

/** @param {readonly Part[][]} clauses @returns {Part[]} */
function spaced(clauses) {
  return clauses.flatMap((clause, index) => (index > 0 ? [{ text: " ", strong: false }, ...clause] : clause));
}
