// A number changed by thumb: less, more, or typed. It starts where it is likely to be.

import { make } from "../shared/dom.js";
import { say } from "../texts.js";

const HOLD_MS = 450;
const AGAIN_MS = 110;

/**
 * @param {object} given
 * @param {string} given.label
 * @param {string} given.unit
 * @param {number | string | null} given.value a text that is no number is shown as it was typed
 * @param {number} given.step
 * @param {number} given.decimals
 * @param {number} [given.least]
 */
export function makeStepper({ label, unit, value, step, decimals, least = 0 }) {
  const input = make("input", { inputmode: "decimal", autocomplete: "off", "aria-label": `${label}, ${unit}` });
  let touched = false;
  show(value);
  input.addEventListener("input", () => (touched = true));
  const root = make("div", { class: "stepper" },
    make("span", { class: "what" }, label),
    press("\u2212", say("stepper.less", { label }), -step),
    make("label", {}, input, make("span", { class: "unit", "aria-hidden": "true" }, unit)),
    press("+", say("stepper.more", { label }), step));

  /** @param {number | string | null} shown */
  function show(shown) {
    input.value = typeof shown === "number" ? shown.toFixed(decimals) : (shown ?? "");
  }

  /** @param {number} by */
  function change(by) {
    touched = true;
    const now = Number(input.value.replace(",", ".")) || 0;
    show(Math.max(least, Math.round((now + by) / step) * step));
  }

  /** One press is one step; held, it goes on. @param {string} sign @param {string} text @param {number} by */
  function press(sign, text, by) {
    const button = make("button", { type: "button", "aria-label": text }, sign);
    let timer = 0;
    const stop = () => clearTimeout(timer);
    const again = () => {
      change(by);
      timer = window.setTimeout(again, AGAIN_MS);
    };
    button.addEventListener("click", () => change(by));
    button.addEventListener("pointerdown", () => (timer = window.setTimeout(again, HOLD_MS)));
    for (const end of ["pointerup", "pointerleave", "pointercancel"]) button.addEventListener(end, stop);
    return button;
  }

  return {
    root,
    /** The number, null where empty, or what was typed where it is none. */
    value() {
      const text = input.value.trim().replace(",", ".");
      if (text === "") return null;
      return Number.isFinite(Number(text)) ? Number(text) : input.value;
    },
    /** A better start, unless a hand has been at it. @param {number | null} better */
    offer(better) {
      if (!touched && better !== null) show(better);
    },
  };
}
