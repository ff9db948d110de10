// The time axis under the sheet, the days' edges across it, and the stretches without a record.

import { keepList, make, setText } from "../shared/dom.js";
import { age } from "../shared/clock.js";
import { say } from "../texts.js";
import { rowsFor } from "./spread.js";
import { contextAt, ticks } from "./ticks.js";
import { spanOf } from "./view.js";

const PIXELS_PER_TICK = 74;
const LETTER = 6.8; // pixels, generous
const AIR = 10;
const LEFT = "left edge";

/**
 * @param {HTMLElement} root
 */
export function mountAxis(root) {
  const times = make("div", { class: "times" });
  const days = make("div", { class: "days" });
  root.append(times, days);
  return (/** @type {import("./view.js").View} */ view, /** @type {string} */ zone, /** @type {number} */ width) => {
    const most = Math.max(2, Math.floor(width / PIXELS_PER_TICK));
    const found = ticks(view.from_ms, view.to_ms, most, zone);
    const x = (/** @type {number} */ at_ms) => ((at_ms - view.from_ms) / spanOf(view)) * width;
    place(times, found.map((tick) => ({ key: String(tick.at_ms), at: x(tick.at_ms), text: tick.text })), width);
    const first = { key: LEFT, at: 0, text: contextAt(view.from_ms, view.to_ms, most, zone) };
    const changes = found.flatMap(({ at_ms, context }) => (context ? [{ key: String(at_ms), at: x(at_ms), text: context }] : []));
    place(days, withoutCrowding(first, changes), width);
    return changes.map(({ at }) => at);
  };
}

/** @typedef {{key: string, at: number, text: string}} Mark */

/** @param {Mark} first @param {readonly Mark[]} changes */
function withoutCrowding(first, changes) {
  const size = (/** @type {Mark} */ mark) => mark.text.length * LETTER;
  const next = changes[0];
  const all = next && next.at < size(first) + AIR ? changes : [first, ...changes];
  const rows = rowsFor(all.map((mark) => ({ at: mark.at, size: size(mark) })), 1, AIR);
  return all.filter((mark, index) => mark.text !== "" && rows[index] === 0);
}

/** @param {HTMLElement} root @param {readonly Mark[]} marks @param {number} width */
function place(root, marks, width) {
  const whole = marks.filter(({ at, text }) => at + text.length * LETTER + AIR <= width);
  keepList(root, whole, (mark) => mark.key, () => make("span"), (element, mark) => {
    setText(element, mark.text);
    if (element instanceof HTMLElement) element.style.left = `${mark.at}px`;
  });
}

/** @param {HTMLElement} root */
export function mountMarks(root) {
  const edges = make("div");
  const silent = make("div");
  root.append(silent, edges);
  return (
    /** @type {readonly number[]} */ days,
    /** @type {readonly [number, number][]} */ silences,
    /** @type {import("./view.js").View} */ view,
    /** @type {number} */ width,
  ) => {
    keepList(edges, days, (at) => String(Math.round(at)), () => make("i", { class: "edge" }), (element, at) => {
      if (element instanceof HTMLElement) element.style.left = `${at}px`;
    });
    keepList(silent, silences, ([from]) => String(from), () => make("div", { class: "silence" }, make("span")), (element, [from, to]) => {
      if (!(element instanceof HTMLElement)) return;
      const left = ((from - view.from_ms) / spanOf(view)) * width;
      const size = ((to - from) / spanOf(view)) * width;
      element.style.left = `${left}px`;
      element.style.width = `${size}px`;
      setText(element.firstElementChild ?? element, words(to - from, size));
    });
  };
}

/** @param {number} ms @param {number} pixels */
function words(ms, pixels) {
  const long = say("sheet.gapfor", { age: age(ms) });
  if (long.length * LETTER + AIR < pixels) return long;
  const short = say("sheet.gap");
  return short.length * LETTER + AIR < pixels ? short : "";
}
