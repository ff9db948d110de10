// A closed jar's volume and strength: two steppers that start where they are likely to be, and a
// press that says so. Nothing is kept before it.

import { make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { degrees, unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { makeStepper } from "./stepper.js";

/** What was measured of a jar. @typedef {{volume_l: any, reading_abv: any, temperature_c: any}} Measured */

/**
 * @param {object} given
 * @param {JarRecord} given.jar
 * @param {{volume_l: number | null, abv: number | null, temperature_c: number | null}} given.offer
 * @param {number} given.step_l
 * @param {string | null} given.from where the temperature is read
 * @param {import("../shared/units.js").Unit} given.unit
 * @param {boolean} given.strength whether a strength makes sense of what comes over
 * @param {(measured: Measured) => void} given.keep
 * @param {() => void} given.leave
 */
export function makeJarStrip({ jar, offer, step_l, from, unit, strength, keep, leave }) {
  const turned = (/** @type {number | null} */ celsius) => (typeof celsius === "number" ? degrees(celsius, unit) : celsius);
  const volume = makeStepper({ label: say("jar.volume"), unit: "L", value: jar.volume_l ?? offer.volume_l, step: step_l, decimals: decimalsOf(step_l) });
  const reading = makeStepper({ label: say("jar.strength"), unit: "%", value: jar.reading_abv ?? offer.abv, step: 0.5, decimals: 1 });
  const warm = makeStepper({ label: say("jar.temperature"), unit: unitSign(unit), value: turned(jar.temperature_c ?? offer.temperature_c), step: 0.5, decimals: 1, least: -20 });
  const hint = make("p", { class: "hint" });
  setText(hint, [strength && jar.reading_abv === null && offer.abv !== null ? say("jar.expected") : "", strength && from ? say("jar.from", { place: from.replaceAll("_", " ") }) : ""].filter(Boolean).join(" "));
  const both = pressFor(say("jar.keep"), () => keep({ volume_l: volume.value(), reading_abv: reading.value(), temperature_c: celsius(warm.value()) }), "main");
  const less = pressFor(say("jar.keep.volume"), () => keep({ volume_l: volume.value(), reading_abv: jar.reading_abv, temperature_c: jar.temperature_c }), strength ? "" : "main");
  const root = make("div", { class: "strip", role: "group", "aria-label": say("jar.strip", { number: jar.number }) },
    make("p", { class: "whose" }, say("jar.strip", { number: jar.number })),
    make("div", { class: "steppers" }, volume.root, ...(strength ? [reading.root, warm.root] : [])),
    hint,
    make("div", { class: "presses" }, ...(strength ? [both] : []), less, pressFor(say("jar.leave"), leave)));
  root.addEventListener("keydown", (event) => {
    if (event.key === "Escape") leave();
    if (event.key === "Enter" && event.target instanceof HTMLInputElement) (strength ? both : less).click();
  });

  /** @param {number | string | null} shown */
  function celsius(shown) {
    return typeof shown === "number" && unit === "F" ? (shown - 32) / 1.8 : shown;
  }

  return {
    root,
    jar,
    /** The probe in the liquid goes on reading. @param {number | null} temperature_c */
    offer: (temperature_c) => warm.offer(jar.temperature_c === null ? turned(temperature_c) : null),
  };
}

/** @param {number} step */
function decimalsOf(step) {
  return Math.max(0, Math.min(3, Math.ceil(-Math.log10(step) - 1e-9)));
}
