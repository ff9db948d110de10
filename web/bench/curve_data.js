// A curve as panels: one for each unit among its lines, one above the other on the same x. Pure.

import { stepFor } from "../now/scale.js";
import { said, scaleOf, toShown } from "./values.js";

/** @typedef {import("./values.js").Scale} Scale */
/** @typedef {{low: number, high: number, step: number}} Axis */
/** @typedef {{column: CurveLine, scale: Scale, xs: (number | null)[], ys: (number | null)[], tone: number, dash: number, mark: number | null}} Line */
/** @typedef {{unit: string, lines: Line[], axis: Axis, band: {low: (number | null)[], high: (number | null)[], tone: number} | null}} Panel */
/** @typedef {{x: CurveLine, xScale: Scale, xs: (number | null)[], xAxis: Axis, panels: Panel[], here: number | null}} Picture */

const TONES = [1, 0, 2, 3, 4, 6];
const DASHES = [0, 2, 4, 3, 1, 5];

/**
 * @param {Declaration} declaration
 * @param {Columns} columns
 * @param {Units} units
 * @param {number | null} here where on x the answer stands, metric
 * @param {Record<string, number | null>} marks the answer's own values of lines, metric
 * @returns {Picture | null} null where there is nothing to draw
 */
export function picture({ curve, us_units }, columns, units, here, marks) {
  const column = (/** @type {string} */ name) => curve?.columns.find((one) => one.name === name);
  const x = column(curve?.x ?? "");
  if (!curve || !x) return null;
  const shown = (/** @type {string} */ name, /** @type {Scale} */ scale) => (columns[name] ?? []).map((v) => (v === null ? null : toShown(v, scale)));
  const xScale = scaleOf(x.unit, us_units, units);
  const xs = shown(curve.x, xScale);
  const lines = curve.lines.flatMap((name, index) => {
    const one = column(name);
    if (!one) return [];
    const scale = scaleOf(one.unit, us_units, units);
    const ys = shown(name, scale);
    const given = marks[name];
    const mark = here === null ? null : typeof given === "number" ? toShown(given, scale) : at(xs, ys, toShown(here, xScale));
    return [{ column: one, scale, xs, ys, tone: TONES[index % 6] ?? 0, dash: DASHES[index % 6] ?? 0, mark }];
  });
  const band = curve.band;
  const panels = [...new Set(lines.map(({ scale }) => scale.unit))].map((unit) => {
    const own = lines.filter(({ scale }) => scale.unit === unit);
    const first = own[0];
    const holds = band && first && column(band[0])?.unit === first.column.unit;
    const edges = holds ? { low: shown(band[0], first.scale), high: shown(band[1], first.scale), tone: first.tone } : null;
    const all = [...own.flatMap(({ ys, mark }) => [...ys, mark]), ...(edges ? [...edges.low, ...edges.high] : [])];
    return { unit, lines: own, axis: axisFor(all, 5, true), band: edges };
  });
  const found = xs.filter((v) => v !== null);
  if (found.length === 0 || lines.length === 0) return null;
  const inside = here !== null && toShown(here, xScale) >= Math.min(...found) && toShown(here, xScale) <= Math.max(...found);
  return { x, xScale, xs, xAxis: axisFor(xs, 6, false), panels, here: inside ? here : null };
}

/** Round limits, with a little air where the line must not touch them. @param {readonly (number | null)[]} values @param {number} most @param {boolean} airy @returns {Axis} */
export function axisFor(values, most, airy) {
  const found = values.filter((v) => v !== null);
  if (found.length === 0) return { low: 0, high: 1, step: 0.2 };
  const [least, greatest] = [Math.min(...found), Math.max(...found)];
  const span = greatest - least || Math.abs(greatest) * 0.2 || 1;
  const step = stepFor(span / most);
  if (!airy) return { low: least, high: greatest > least ? greatest : least + span, step };
  const low = Math.floor((least - span * 0.03) / (step / 2)) * (step / 2);
  return { low: least >= 0 ? Math.max(0, low) : low, high: Math.ceil((greatest + span * 0.06) / (step / 2)) * (step / 2), step };
}

/** The line's own value at an x, between its points by a straight line; null in a gap. @param {readonly (number | null)[]} xs @param {readonly (number | null)[]} ys @param {number} x */
export function at(xs, ys, x) {
  for (let i = 0; i + 1 < xs.length; i += 1) {
    const [a, b, c, d] = [xs[i], xs[i + 1], ys[i], ys[i + 1]];
    if (a == null || b == null || c == null || d == null) continue;
    if (x < Math.min(a, b) || x > Math.max(a, b)) continue;
    return a === b ? c : c + ((d - c) * (x - a)) / (b - a);
  }
  return null;
}

/** The point of the curve nearest to an x as shown. @param {readonly (number | null)[]} xs @param {number} x */
export function nearest(xs, x) {
  let best = 0;
  let least = Infinity;
  xs.forEach((v, index) => {
    if (v !== null && Math.abs(v - x) < least) [best, least] = [index, Math.abs(v - x)];
  });
  return best;
}

/** A value of a column with its unit. @param {CurveLine} column @param {Scale} scale @param {number} metric */
export function withUnit(column, scale, metric) {
  return `${said(metric, column.decimals, scale)} ${scale.unit}`.trim();
}

/** Every row of the table, or a spread of them if there are more than anyone reads. @param {number} count @param {number} [most] */
export function rowsShown(count, most = 41) {
  if (count <= most) return Array.from({ length: count }, (_, index) => index);
  return Array.from({ length: most }, (_, index) => Math.round((index * (count - 1)) / (most - 1)));
}
