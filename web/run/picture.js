// A run as panels on one axis of time: what of its review and its readings is drawn. Pure.

import { isTemperature, linesOf } from "../now/lines.js";
import { band, knots, middle, stretches } from "../now/polyline.js";
import { degrees, temperature, unitSign } from "../shared/units.js";
import { shortText } from "../record/ribbon.js";
import { timeOfDay, timeToSecond } from "../shared/clock.js";
import { say } from "../texts.js";
import { amount } from "../banner/amount.js";
import { DASH, figure } from "./format.js";

/** @typedef {import("./panel_plot.js").Panel} Panel */
/** @typedef {import("./panel_plot.js").Line} Line */
/** @typedef {import("../now/polyline.js").Path} Path */
/** @typedef {{from: number, to: number}} View */

const [HEIGHT_PX, EMPTY_PX] = [300, 90]; // of the temperatures, where there are any
const DAY_LONG_MS = 20 * 3_600_000;
const LONGEST_MS = 2 * 3_600_000; // an estimate is told again at least hourly

/**
 * @param {RunReview} review
 * @param {readonly Trace[]} traces
 * @param {readonly IssuedRun[]} issued what was estimated of the spirit at the spout
 * @param {View} view
 * @param {import("../shared/units.js").Unit} unit
 * @returns {Panel[]}
 */
export function panelsOf(review, traces, issued, view, unit) {
  const heats = temperatures(traces, view, unit);
  const strengths = strengthLines(review, issued);
  const { rates, collected } = review.series;
  const panel = (/** @type {string} */ key, /** @type {Line[]} */ lines, /** @type {number} */ height_px, /** @type {number} */ least, /** @type {number} */ decimals, fromZero = false) =>
    ({ key, title: say(`panel.${key}`, { unit: unitSign(unit) }), lines, height_px, least, decimals, fromZero });
  return [
    panel("temperature", heats, heats.length > 0 ? HEIGHT_PX : EMPTY_PX, 2, 1),
    ...(strengths.length > 0 ? [panel("strength", strengths, 150, 4, 1)] : []),
    ...(rates.length > 0 ? [panel("rate", [rateLine(rates)], 110, 10, 0, true)] : []),
    ...(collected.length > 0 ? [panel("collected", sumLines(collected), 150, 1, 2, true)] : []),
  ];
}

/** @param {readonly Trace[]} traces @param {View} view @param {import("../shared/units.js").Unit} unit @returns {Line[]} */
export function temperatures(traces, { from, to }, unit) {
  const turn = (/** @type {number} */ celsius) => degrees(celsius, unit);
  const several = new Set(traces.filter(({ vessel }) => vessel !== null).map(({ vessel }) => vessel)).size > 1;
  return linesOf(null, traces.filter(isTemperature)).map(({ name, under, trace, stroke }) => {
    const runs = stretches(knots(trace, from, to, turn));
    return { name: under && several ? `${name} ${under}` : name, ...stroke, path: middle(runs, (to - from) / 800), band: band(runs, (to - from) / 800) };
  });
}

/** @param {RunReview} review @param {readonly IssuedRun[]} issued @returns {Line[]} */
function strengthLines({ series: { strengths } }, issued) {
  const told = issuedPath(issued);
  const read = { name: say("panel.read"), tone: 0, dash: 0, dots: true, errors: strengths.map(({ abv_error }) => abv_error), path: { x: strengths.map(({ at_ms }) => at_ms), y: strengths.map(({ abv }) => abv) } };
  const estimated = { name: say("panel.estimated"), tone: 1, dash: 2, faint: true, path: told.middle, band: told.band };
  return [...(told.middle.x.length > 0 ? [estimated] : []), ...(strengths.length > 0 ? [read] : [])];
}

/** What was estimated, as a line and its band; over what was not told for long both are broken. @param {readonly IssuedRun[]} issued @returns {{middle: Path, band: Path}} */
function issuedPath(issued) {
  const found = { middle: /** @type {Path} */ ({ x: [], y: [] }), band: /** @type {Path} */ ({ x: [], y: [] }) };
  for (const { at_ms, value, low, high } of issued) {
    /** @type {number[]} */
    let open = [];
    const close = () => {
      if (open.length > 0) {
        push(found.middle, open.map((at) => [at_ms[at] ?? 0, value[at] ?? 0]));
        push(found.band, [...open.map((at) => [at_ms[at] ?? 0, high[at] ?? value[at] ?? 0]), ...[...open].reverse().map((at) => [at_ms[at] ?? 0, low[at] ?? value[at] ?? 0])]);
      }
      open = [];
    };
    value.forEach((one, at) => {
      const before = open.at(-1);
      if (one === null || (before !== undefined && (at_ms[at] ?? 0) - (at_ms[before] ?? 0) > LONGEST_MS)) close();
      if (one !== null) open.push(at);
    });
    close();
  }
  return found;
}

/** @param {Path} path @param {readonly number[][]} points */
function push(path, points) {
  if (path.x.length > 0) {
    path.x.push(null);
    path.y.push(null);
  }
  for (const [x = 0, y = 0] of points) {
    path.x.push(x);
    path.y.push(y);
  }
}

/** A rate holds for its whole jar. @param {RunReview["series"]["rates"]} rates @returns {Line} */
function rateLine(rates) {
  /** @type {Path} */
  const path = { x: [], y: [] };
  for (const { from_ms, to_ms, ml_min } of rates) push(path, [[from_ms, ml_min], [(from_ms + to_ms) / 2, ml_min], [to_ms, ml_min]]);
  return { name: say("panel.rate.jar"), tone: 0, dash: 0, path };
}

/** @param {RunReview["series"]["collected"]} collected @returns {Line[]} */
function sumLines(collected) {
  const x = collected.map(({ at_ms }) => at_ms);
  const expected = collected.some(({ is_expected }) => is_expected);
  return [
    { name: say("panel.volume"), tone: 2, dash: 0, path: { x, y: collected.map(({ volume_l }) => volume_l) } },
    { name: say(expected ? "panel.alcohol.expected" : "panel.alcohol"), tone: 1, dash: expected ? 1 : 0, path: { x, y: collected.map(({ pure_alcohol_l }) => pure_alcohol_l) } },
  ];
}

/** The marks through all panels; one that cuts carries what the head stood at. @param {RunReview} review @param {string} zone @param {import("../shared/units.js").Unit} unit @returns {import("./panels.js").Mark[]} */
export function marksOf({ marks, moments }, zone, unit) {
  const heads = new Map(moments.map(({ key, head_c }) => [key, head_c]));
  return marks.filter(({ kind }) => kind !== "note" && kind !== "power").map((mark) => {
    const head = heads.get(mark.kind);
    const short = shortText(mark);
    const text = head == null ? short : `${short} ${temperature(head, unit)}`;
    return { x: Date.parse(mark.at), text, title: `${timeToSecond(Date.parse(mark.at), zone)} ${text}`, kind: mark.kind };
  });
}

/** An alarm as a row: its value and its limit in the unit the house reads. @param {RunReview["alarms"][number]} one @param {(at: string) => string} time @param {import("../shared/units.js").Unit} shown */
export function alarmRow({ came_at, went_at, name, where, value, limit, unit }, time, shown) {
  const told = (/** @type {number | null} */ one) => (one === null ? DASH : amount(one, unit, shown));
  return [time(came_at), name, where, told(value), told(limit), went_at ? time(went_at) : say("lane.still")];
}

/** Stretches in which nothing at all was read. @param {RunReview} review */
export function hatchedOf({ silences }) {
  return silences.filter(({ place }) => place === null).map(({ from_at, to_at }) => ({ from: Date.parse(from_at), to: Date.parse(to_at), text: say("run.silence") }));
}

/** A time of the run: with its day where the run is long. @param {number} ms @param {View} view @param {string} zone */
export function momentIn(ms, { from, to }, zone) {
  return to - from > DAY_LONG_MS ? `${new Intl.DateTimeFormat("en-GB", { timeZone: zone, weekday: "short" }).format(ms)} ${timeOfDay(ms, zone)}` : timeToSecond(ms, zone);
}

/** Temperatures as rows: a spread of the moments, each line's value there. @param {readonly Line[]} lines @param {View} view @param {number} [count] @returns {{at: number, values: (string)[]}[]} */
export function rowsOf(lines, { from, to }, count = 41) {
  return Array.from({ length: count }, (_, index) => from + ((to - from) * index) / (count - 1)).map((at) => ({ at, values: lines.map(({ path }) => figure(near(path, at, (to - from) / count), 1)) }));
}

/** @param {Path} path @param {number} at @param {number} reach */
function near({ x, y }, at, reach) {
  let [best, least] = [/** @type {number | null} */ (null), reach];
  x.forEach((one, index) => {
    if (one !== null && Math.abs(one - at) <= least) [best, least] = [y[index] ?? null, Math.abs(one - at)];
  });
  return best;
}
