// Under the thumb: how much time is shown, back to now, and the sheet as a table.

import { ask, keepList, make, on, setAttributes, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { linesOf, vesselsOf } from "./lines.js";
import { RANGES, spanOf } from "./view.js";

/** @typedef {import("./sheet.js").Told} Told */

/** @param {HTMLElement} root */
export function mountControls(root) {
  const ranges = make("div", { class: "ranges", role: "group", "aria-label": say("range.label") });
  for (const [key, span_ms] of RANGES) ranges.append(rangeButton(key, span_ms));
  const closer = verbButton("+", "zoom.in", "zoom", { factor: 0.5, anchor: 0.5 });
  const wider = verbButton("\u2212", "zoom.out", "zoom", { factor: 2, anchor: 0.5 });
  const earlier = verbButton("\u2190", "move.earlier", "move", { fraction: -0.5 });
  const later = verbButton("\u2192", "move.later", "move", { fraction: 0.5 });
  const steps = make("div", { class: "steps" }, earlier, later, wider, closer);
  const follow = make("button", { type: "button", class: "follow" });
  follow.addEventListener("click", () => ask(follow, "follow"));
  const form = make("button", { type: "button", class: "quiet form" });
  form.addEventListener("click", () => ask(form, "form", { form: form.dataset.to }));
  root.append(ranges, steps, follow, form);

  on(root, "state", (/** @type {Told} */ { state }) => {
    const { view } = state;
    for (const [index, [, span_ms]] of RANGES.entries()) {
      const on = view.following && Math.abs(spanOf(view) - span_ms) < 1;
      setAttributes(/** @type {Element} */ (ranges.children[index]), { "aria-pressed": String(on) });
    }
    setText(follow, say(view.following ? "follow.following" : "follow.now"));
    setAttributes(follow, { "aria-pressed": String(view.following) });
    later.disabled = view.following;
    setText(form, say(state.form === "chart" ? "form.table" : "form.chart"));
    form.dataset.to = state.form === "chart" ? "table" : "chart";
  });
}

/** @param {string} key @param {number} span_ms */
function rangeButton(key, span_ms) {
  const range = say(`range.${key}`);
  const button = make("button", { type: "button", "aria-label": say("range.spoken", { range }) }, range);
  button.addEventListener("click", () => ask(button, "range", { span_ms }));
  return button;
}

/** @param {string} sign @param {string} text @param {string} verb @param {object} detail */
function verbButton(sign, text, verb, detail) {
  const button = make("button", { type: "button", "aria-label": say(text), title: say(text) }, sign);
  button.addEventListener("click", () => ask(button, verb, detail));
  return button;
}

/** The vessels, where there are several: one alone, or all. @param {HTMLElement} root */
export function mountVessels(root) {
  setAttributes(root, { role: "group", "aria-label": say("vessel.label") });
  on(root, "state", (/** @type {Told} */ { state }) => {
    const vessels = vesselsOf(linesOf(state.live, state.history?.traces ?? []));
    root.hidden = vessels.length < 2;
    const choices = [undefined, ...vessels];
    keepList(root, choices, (vessel) => (vessel === undefined ? "all" : `v ${vessel ?? ""}`), (vessel) => {
      const button = make("button", { type: "button" }, nameOf(vessel));
      button.addEventListener("click", () => ask(button, "vessel", { vessel }));
      return button;
    }, (button, vessel) => setAttributes(button, { "aria-pressed": String(vessel === state.vessel) }));
  });
}

/** @param {string | null | undefined} vessel */
function nameOf(vessel) {
  if (vessel === undefined) return say("vessel.all");
  return vessel ?? say("vessel.none");
}
