// What stood on the sheet at the instant a person points at: a fine line and the readings there.

import { day, timeOfDay, timeToSecond } from "../shared/clock.js";
import { keepList, make, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { makeDash, strokeDash } from "./strokes.js";
import { nearest } from "./polyline.js";
import { spanOf } from "./view.js";

/** @typedef {{drawn: import("./drawing.js").Drawing, zone: string, width: number, digits?: number}} Shown */

/** @param {HTMLElement} root */
export function mountCursor(root) {
  const hair = make("i", { class: "hair", hidden: true });
  const when = make("p");
  const list = make("ul");
  const box = make("div", { class: "readout", hidden: true, "aria-hidden": "true" }, when, list);
  root.append(hair, box);
  return (/** @type {number | null} */ fraction, /** @type {Shown} */ { drawn, zone, width }) => {
    const hide = fraction === null || drawn.lines.length === 0;
    hair.hidden = box.hidden = hide;
    if (hide) return;
    const at_ms = drawn.view.from_ms + fraction * spanOf(drawn.view);
    hair.style.left = `${fraction * width}px`;
    box.classList.toggle("left", fraction > 0.5);
    setText(when, whenText(at_ms, spanOf(drawn.view), zone));
    keepList(list, drawn.lines, ({ line }) => line.key, makeRow, (row, line) => fillRow(row, line, at_ms, drawn));
  };
}

/** @param {number} at_ms @param {number} span_ms @param {string} zone */
function whenText(at_ms, span_ms, zone) {
  const time = span_ms < 36e5 ? timeToSecond(at_ms, zone) : timeOfDay(at_ms, zone);
  return `${day(at_ms, zone)} ${time}`;
}

function makeRow() {
  return make("li", {}, makeDash(), make("span", { class: "name" }), make("b"));
}

/**
 * @param {Element} row
 * @param {import("./drawing.js").Drawn} line
 * @param {number} at_ms
 * @param {import("./drawing.js").Drawing} drawn
 */
function fillRow(row, { line, runs }, at_ms, drawn) {
  const [dash, name, value] = row.children;
  if (!dash || !name || !value) return;
  strokeDash(dash, line.stroke);
  setText(name, line.name);
  setText(value, valueAt(runs, at_ms, Math.max(drawn.bucket_ms, spanOf(drawn.view) / 100)));
}

/**
 * @param {readonly import("./polyline.js").Knot[][]} runs
 * @param {number} at_ms
 * @param {number} reach_ms
 */
function valueAt(runs, at_ms, reach_ms) {
  const run = runs.find((each) => (each[0]?.at ?? 0) - reach_ms <= at_ms && at_ms <= (each.at(-1)?.at ?? 0) + reach_ms);
  const knot = run && nearest(run, at_ms, Infinity);
  if (!knot) return "—";
  const [low, high] = [knot.low, knot.high].map((value) => value.toFixed(1).replace("-", "\u2212"));
  return low === high ? `${low}` : say("table.between", { low: low ?? "", high: high ?? "" });
}
