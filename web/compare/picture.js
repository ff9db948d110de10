// Runs on one axis as panels: a panel for each place that is shown, a colour and a dash for each
// run. Pure.

import { nameOf } from "../now/lines.js";
import { band, knots, middle, stretches } from "../now/polyline.js";
import { stepFor } from "../now/scale.js";
import { degrees, temperature, unitSign } from "../shared/units.js";
import { day } from "../shared/clock.js";
import { say } from "../texts.js";

/** @typedef {import("../run/panel_plot.js").Panel} Panel */
/** @typedef {import("../shared/units.js").Unit} Unit */

/** One for each run, told apart in grey too. */
export const STROKES = [{ tone: 0, dash: 0 }, { tone: 1, dash: 2 }, { tone: 2, dash: 3 }, { tone: 4, dash: 4 }];
const USUAL = ["head", "pot"];
const MINUTE_STEPS = [1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720, 1440];
const PIXELS_PER_TICK = 74;
const BEFORE_C = 5;
const CELSIUS = "°C"; // as the service says it

/** A run's name with its place in the order, where there are several: two may be of one batch and one day. @param {string} name @param {number} at @param {readonly unknown[]} runs */
export function numbered(name, at, runs) {
  return runs.length > 1 ? say("compare.numbered", { number: at + 1, name }) : name;
}

/** The name of a run beside its line. @param {readonly AlignedRun[]} runs @param {number} at @param {string} zone */
function shortName(runs, at, zone) {
  const run = runs[at]?.run;
  return run ? numbered(say("compare.short", { batch: run.batch, day: day(Date.parse(run.started_at), zone) }), at, runs) : "";
}

/** What is not known, each with the run it is about, or the runs' numbers. @param {Comparison} found @returns {Gap[]} */
export function gapsOf({ gaps, runs }) {
  return [...new Set(gaps.map(({ why }) => why))].map((why) => {
    const each = gaps.filter((one) => one.why === why);
    const places = runs.flatMap(({ run }, at) => (each.some(({ run_id }) => run_id === run.id) ? [at] : []));
    const whose = places.length > 1 ? places.map((at) => at + 1).join(", ") : places.map((at) => numbered(runs[at]?.run.batch ?? "", at, runs))[0];
    return { about: each[0]?.about ?? "", why: whose === undefined || runs.length === 1 ? why : `${whose}: ${why}` };
  });
}

/** The places that any of the runs has, those that matter most first. @param {Comparison} found */
export function placesOf({ runs }) {
  const names = [...new Set(runs.flatMap(({ lines }) => lines.filter(({ quantity }) => quantity === "temperature_c").map(({ place }) => place)))];
  return [...USUAL.filter((name) => names.includes(name)), ...names.filter((name) => !USUAL.includes(name)).sort()];
}

/** @param {readonly string[]} names */
export function firstPlaces(names) {
  const usual = names.filter((name) => USUAL.includes(name));
  return usual.length > 0 ? usual : names.slice(0, 2);
}

/** A line of the answer as the sheet's own buckets. @param {AlignedLine} line @returns {Trace} */
function traceOf({ key, place, quantity, segments }) {
  return { key, probe_id: null, vessel: null, place, quantity, segments: segments.map(({ x0, dx, ...rest }) => ({ t0_ms: x0, dt_ms: dx, ...rest })) };
}

/** From where to where anything stands; by the pot's temperature, from a little before anything came over. @param {Comparison} found */
export function extent({ runs, align }) {
  const all = runs.flatMap(({ lines, strengths, collected }) => [
    ...lines.flatMap(({ segments }) => segments.flatMap(({ x0, dx, lo }) => (lo.length > 0 ? [x0, x0 + dx * lo.length] : []))),
    ...strengths.map(({ x }) => x), ...collected.map(({ x }) => x),
  ]);
  if (all.length === 0) return { from: 0, to: 1 };
  const drops = runs.flatMap(({ marks }) => marks.flatMap(({ key, x }) => (key === "first_drop" && x !== null ? [x] : [])));
  const to = Math.max(...all);
  const from = align === "pot_temperature" && drops.length > 0 ? Math.min(...drops) - BEFORE_C : Math.min(...all);
  return { from, to: to > from ? to : from + 1 };
}

/**
 * @param {Comparison} found
 * @param {readonly string[]} places those shown
 * @param {{from: number, to: number}} view
 * @param {Unit} unit
 * @param {string} zone
 * @returns {Panel[]}
 */
export function panelsOf(found, places, view, unit, zone) {
  const name = (/** @type {number} */ at) => shortName(found.runs, at, zone);
  const stroke = (/** @type {number} */ at) => STROKES[at] ?? { tone: at, dash: at };
  const turn = (/** @type {number} */ celsius) => degrees(celsius, unit);
  const heats = places.map((place) => ({
    key: place, title: say("compare.temperature", { place: nameOf({ place, probe_id: null }), unit: unitSign(unit) }), height_px: places.length > 2 ? 150 : 210, least: 2, decimals: 1,
    lines: found.runs.flatMap((one, at) => one.lines.filter((line) => line.place === place && line.quantity === "temperature_c").slice(0, 1).map((line) => {
      const runs = stretches(knotsIn(traceOf(line), view, turn));
      return { name: name(at), ...stroke(at), path: middle(runs, 0), band: band(runs, 0) };
    })),
  }));
  const strengths = found.runs.flatMap((one, at) => (one.strengths.length > 0 ? [{ name: name(at), ...stroke(at), dots: true, errors: one.strengths.map(({ abv_error }) => abv_error), path: { x: one.strengths.map(({ x }) => x), y: one.strengths.map(({ abv }) => abv) } }] : []));
  const sums = found.runs.flatMap((one, at) => (one.collected.length > 0 ? [{ name: name(at), ...stroke(at), path: { x: one.collected.map(({ x }) => x), y: one.collected.map(({ pure_alcohol_l }) => pure_alcohol_l) } }] : []));
  return [
    ...heats,
    ...(strengths.length > 0 ? [{ key: "strength", title: say("panel.strength"), lines: strengths, height_px: 150, least: 4, decimals: 1 }] : []),
    ...(sums.length > 0 && found.align !== "alcohol" ? [{ key: "collected", title: `${say("panel.alcohol")}, L`, lines: sums, height_px: 150, least: 1, decimals: 2, fromZero: true }] : []),
  ];
}

/** The margin of the sheet's own buckets is a minute of milliseconds; here any unit may stand. @param {Trace} trace @param {{from: number, to: number}} view @param {(celsius: number) => number} turn */
function knotsIn(trace, { from, to }, turn) {
  return trace.segments.flatMap((segment) => knots({ ...trace, segments: [segment] }, from, to, turn).map((knot, index) => (index === 0 ? { ...knot, broken: true } : knot)));
}

/** The marks of all runs; a mark says whose it is by its run's place in the order. @param {Comparison} found @returns {import("../run/panels.js").Mark[]} */
export function marksOf({ runs, align }) {
  const told = align === "first_drop" ? ["hearts", "tails"] : ["first_drop", "hearts", "tails"];
  return runs.flatMap(({ marks, run }, at) => marks.filter(({ key, x }) => x !== null && told.includes(key)).map(({ key, name, x }) => ({
    x: x ?? 0, kind: /** @type {MarkKind} */ (key), text: numbered(say(`mark.short.${key}`), at, runs), title: `${name}, ${numbered(run.batch, at, runs)}`,
  })));
}

/** A place of the axis in words. @param {Comparison} found @param {number} x @param {(ms: number) => string} clock @param {Unit} unit */
export function saidAt({ align, axis, runs }, x, clock, unit) {
  if (axis.unit === CELSIUS) return `${temperature(x, unit)} ${unitSign(unit)}`;
  if (axis.unit !== "s") return `${Number(x.toFixed(2))} ${axis.unit}`;
  const zero = runs[0]?.zero_at;
  if (align === "clock" && zero) return clock(Date.parse(zero) + x * 1000);
  const minutes = Math.round(Math.abs(x) / 60);
  return say("compare.hours", { sign: x < -30 ? "\u2212" : "", hours: Math.floor(minutes / 60), minutes: String(minutes % 60).padStart(2, "0") });
}

/** Places of the axis that are round as they are read. @param {{from: number, to: number}} view @param {string} axis its unit @param {number} width @param {Unit} unit */
export function ticksOf({ from, to }, axis, width, unit) {
  const most = Math.max(2, width / PIXELS_PER_TICK);
  const [per, zero] = axis === CELSIUS ? [degrees(1, unit) - degrees(0, unit), degrees(0, unit)] : [1, 0];
  const least = ((to - from) * per) / most;
  const step = axis === "s" ? 60 * (MINUTE_STEPS.find((minutes) => minutes * 60 >= least) ?? 1440) : stepFor(least);
  const found = [];
  for (let k = Math.ceil((from * per + zero) / step); k * step <= to * per + zero; k += 1) found.push((k * step - zero) / per);
  return found;
}
