// A value and its limit as people read them; temperatures are turned to the unit shown. Pure.

import { degreesApart, temperature, unitSign } from "../shared/units.js";

const MINUS = "\u2212";
const LONG_S = 300; // seconds that are better said in minutes

/**
 * "62.1 °C", "+0.30 °C/min", "90 %"
 * @param {number} value
 * @param {string | null} unit as the service says it
 * @param {import("../shared/units.js").Unit} shown
 */
export function amount(value, unit, shown) {
  if (unit === "°C") return `${temperature(value, shown)} ${unitSign(shown)}`;
  const apart = /^(?:K|°C)(\/\w+)?$/.exec(unit ?? "");
  if (apart) return `${rounded(degreesApart(value, shown))} ${unitSign(shown)}${apart[1] ?? ""}`;
  if (unit === "s" && value >= LONG_S) return `${Math.round(value / 60)} min`;
  const whole = unit === "s" || unit === "min" ? Math.round(value) : value;
  return [rounded(whole), unit ?? ""].filter(Boolean).join(" ");
}

/** The decimals a number needs to be told from its neighbours, and no more. @param {number} value */
export function rounded(value) {
  const size = Math.abs(value);
  const text = Number.isInteger(value) || size >= 100 ? value.toFixed(0) : value.toFixed(size < 1 ? 2 : 1);
  return Number(text) === 0 ? "0" : text.replace("-", MINUS);
}
