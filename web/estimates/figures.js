// Estimates as people read them: as many decimals as the band deserves, and no more. Pure.

import { temperature, unitSign } from "../shared/units.js";
import { say } from "../texts.js";

/** The most decimals a quantity is worth, however narrow its band. @type {Record<string, number>} */
const MOST = { gravity_sg: 4, "% vol": 1, L: 1, "%": 0, min: 0, h: 0, W: 0, "W/K": 1, kJ: 0, "mL/min": 0, "": 1 };
export const HOUR_MIN = 60;
const LONG_MIN = 90;
const LONG_H = 48;

/** A number with its band, in one manner of writing. @typedef {{value: string, low: string, high: string, unit: string}} Figure */

/** @param {EstimateNow} one @returns {Figure | null} */
export function figure(one) {
  const { value, low, high, unit } = one;
  if (value === null) return null;
  if (unit === "min" || unit === "h") return times(one, unit === "h" ? HOUR_MIN : 1);
  const text = written(decimals(one));
  return { value: text(value), low: low === null ? "" : text(low), high: high === null ? "" : text(high), unit };
}

/** Decimals by the half of the band: two of its figures would be one too many. @param {EstimateNow} one */
function decimals({ quantity, unit, low, high, value }) {
  const most = MOST[quantity] ?? MOST[unit] ?? 1;
  const half = low === null || high === null ? Math.abs(value ?? 0) / 100 : (high - low) / 2;
  return half > 0 ? Math.min(most, Math.max(0, Math.ceil(-Math.log10(half / 1.5)))) : most;
}

/** @param {number} count @returns {(value: number) => string} */
function written(count) {
  return (value) => {
    const text = Math.abs(value) >= 1000 ? Number(value.toPrecision(3)).toLocaleString("en-GB") : value.toFixed(count);
    return Number(text) === 0 ? text.replace("-", "") : text.replace("-", "\u2212");
  };
}

/** @param {EstimateNow} one @param {number} minutes what one of its unit is */
function times({ value, low, high }, minutes) {
  const text = (/** @type {number | null} */ amount) => (amount === null ? "" : span(amount * minutes));
  return { value: text(value), low: text(low), high: text(high), unit: "" };
}

/** "25 min", "1 h 40 min", "31 h", "4 days" @param {number} minutes */
export function span(minutes) {
  if (minutes < 1) return say("est.span.now");
  if (minutes < LONG_MIN) return say("est.span.min", { count: Math.round(minutes) });
  const fives = Math.round(minutes / 5) * 5;
  const [hours, rest] = [Math.floor(fives / HOUR_MIN), fives % HOUR_MIN];
  if (hours < 10) return rest ? say("est.span.hmin", { hours, rest }) : say("est.span.h", { hours });
  const whole = Math.round(minutes / HOUR_MIN);
  return whole < LONG_H ? say("est.span.h", { hours: whole }) : say("est.span.days", { count: Math.round(whole / 24) });
}

/** "2.6 to 3.6"; nothing where there is no band. @param {Figure} one */
export function band({ low, high }) {
  if (low === "" || high === "") return "";
  return low === high ? "" : say("est.band", { low, high });
}

/** "3.1 % vol" @param {Figure} one */
export function withUnit({ value, unit }) {
  return unit ? `${value} ${unit}` : value;
}

/** A number is not parted from its unit at the end of a line. @param {string} text */
export function kept(text) {
  return text.replaceAll(/(?<=\d) (?=%|°|min\b|h\b|days\b|L\b|g\/L|hPa\b|kJ\b|W\b|mL\b|mm\b)|(?<=\d h) (?=\d+ min\b)|(?<=%) (?=vol\b)/g, "\u00a0");
}

/** 50 °C in the unit that is shown. @param {import("../shared/units.js").Unit} unit */
export function coolEnough(unit) {
  return `${Math.round(Number(temperature(50, unit)))} ${unitSign(unit)}`;
}
