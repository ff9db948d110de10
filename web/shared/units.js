// Temperatures as people read them. Everything travels in Celsius and is turned here, last.

/** @typedef {"C" | "F"} Unit */

const MINUS = "\u2212";

/**
 * @param {number} celsius
 * @param {Unit} unit
 */
export function degrees(celsius, unit) {
  return unit === "F" ? celsius * 1.8 + 32 : celsius;
}

/**
 * A difference of temperatures, or a slope.
 * @param {number} celsius
 * @param {Unit} unit
 */
export function degreesApart(celsius, unit) {
  return unit === "F" ? celsius * 1.8 : celsius;
}

/**
 * "87.9": one decimal, a true minus sign, never a minus before zero.
 * @param {number} celsius
 * @param {Unit} unit
 */
export function temperature(celsius, unit) {
  return signless(degrees(celsius, unit).toFixed(1));
}

/**
 * "+0.2": a slope a minute, with its sign, 0.0 where it rounds to nothing.
 * @param {number} celsius
 * @param {Unit} unit
 */
export function slope(celsius, unit) {
  const text = signless(degreesApart(celsius, unit).toFixed(1));
  return Number(text) > 0 ? `+${text}` : text;
}

/** @param {Unit} unit */
export function unitSign(unit) {
  return unit === "F" ? "°F" : "°C";
}

/** @param {string} text */
function signless(text) {
  if (Number(text) === 0) return text.replace("-", "");
  return text.replace("-", MINUS);
}
