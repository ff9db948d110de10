// Numbers between people and the service. The service speaks metric; what is typed in US units is
// turned once, when it is typed, and kept metric, so that switching back and forth drifts nowhere.
// Pure.

const SAME = { factor: 1, offset: 0 };

/** How a unit is shown: shown = metric * factor + offset. @typedef {{unit: string, factor: number, offset: number}} Scale */

/**
 * @param {string | null} unit the metric one
 * @param {Record<string, UsUnit>} us_units
 * @param {Units} units
 * @returns {Scale}
 */
export function scaleOf(unit, us_units, units) {
  const us = units === "us" ? us_units[unit ?? ""] : undefined;
  return us ?? { unit: unit ?? "", ...SAME };
}

/** @param {number} metric @param {Scale} scale */
export function toShown(metric, { factor, offset }) {
  return clean(metric * factor + offset);
}

/** @param {number} shown @param {Scale} scale */
export function toMetric(shown, { factor, offset }) {
  return clean((shown - offset) / factor);
}

/** The decimals worth showing: as many digits mean as much in the other unit. @param {number} decimals @param {Scale} scale */
export function decimalsOf(decimals, { factor }) {
  return Math.min(20, Math.max(0, decimals - Math.trunc(Math.log10(factor))));
}

/** A value as a field shows it, without needless zeros. @param {number} metric @param {number} decimals @param {Scale} scale */
export function fieldText(metric, decimals, scale) {
  const shown = toShown(metric, scale);
  if (scale.factor === 1 && scale.offset === 0) return String(shown);
  return String(Number(shown.toFixed(decimalsOf(decimals, scale))));
}

/** A value as a curve or a table says it. @param {number} metric @param {number} decimals @param {Scale} scale */
export function said(metric, decimals, scale) {
  return saidShown(toShown(metric, scale), decimals, scale);
}

/** The same, of a value turned already. @param {number} shown @param {number} decimals @param {Scale} scale */
export function saidShown(shown, decimals, scale) {
  const text = shown.toFixed(decimalsOf(decimals, scale));
  return Number(text) === 0 ? text.replace("-", "") : text.replace("-", "\u2212");
}

/**
 * A limit: "1,000,000", "0.05". One that was turned has four digits, and lies within the true one.
 * @param {number} metric
 * @param {Scale} scale
 * @param {"low" | "high"} end
 */
export function limitText(metric, scale, end) {
  const turned = scale.factor !== 1 || scale.offset !== 0;
  const text = toShown(metric, scale).toLocaleString("en-GB", {
    maximumSignificantDigits: turned ? 4 : 10, roundingMode: end === "low" ? "ceil" : "floor",
  });
  return text.replace("-", "\u2212");
}

/**
 * What was typed: nothing, a number, or something the service shall refuse in its own words.
 * @typedef {{kind: "empty"} | {kind: "number", shown: number} | {kind: "text", text: string} | {kind: "comma", text: string}} Typed
 */

/** @param {string} text @returns {Typed} */
export function readTyped(text) {
  const bare = text.trim().replace(/[\u2212\u2013]/g, "-");
  if (bare === "") return { kind: "empty" };
  if (/^[+-]?\d+,(\d{3})$/.test(bare)) return { kind: "comma", text: bare };
  const pointed = /^[+-]?\d*,\d+$/.test(bare) ? bare.replace(",", ".") : bare;
  if (/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(pointed) && Number.isFinite(Number(pointed))) return { kind: "number", shown: Number(pointed) };
  return { kind: "text", text: text.trim() };
}

/** What a number that was turned carries of floating point is no digit of it. @param {number} value */
function clean(value) {
  return Number(value.toPrecision(12));
}

/** A choice as people say it: "stainless-steel" is "stainless steel". @param {string} choice */
export function choiceText(choice) {
  return choice.length === 2 ? choice.toUpperCase() : choice.replaceAll("-", " ");
}
