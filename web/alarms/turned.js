// A limit in the unit that is shown, and back to the one it is kept in. Pure.

import { degrees, degreesApart, unitSign } from "../shared/units.js";

/** @typedef {import("../shared/units.js").Unit} Unit */

const APART = /^(?:K|°C)(\/\w+)?$/;

/** @param {number} kept @param {string | null} unit @param {Unit} shown @param {boolean} apart a deadband is a difference, whatever its limit is */
export function toShown(kept, unit, shown, apart) {
  const turned = unit === "°C" && !apart ? degrees(kept, shown) : APART.test(unit ?? "") ? degreesApart(kept, shown) : kept;
  return Number(turned.toFixed(4));
}

/** @param {number} typed @param {string | null} unit @param {Unit} shown @param {boolean} apart */
export function fromShown(typed, unit, shown, apart) {
  if (shown === "C" || !APART.test(unit ?? "")) return typed;
  const kept = unit === "°C" && !apart ? (typed - 32) / 1.8 : typed / 1.8;
  return Number(kept.toFixed(4));
}

/** "°F/min" @param {string | null} unit @param {Unit} shown */
export function signOf(unit, shown) {
  const apart = APART.exec(unit ?? "");
  return apart ? unitSign(shown) + (apart[1] ?? "") : (unit ?? "");
}
