// Numbers, times and tables as reviews write them.

import { saidTime, timeOfDay, wholeTime } from "../shared/clock.js";
import { make } from "../shared/dom.js";
import { say } from "../texts.js";

export const DASH = "–";
const MINUS = "\u2212";

/** "1.25", with a true minus; a dash where it is not known. @param {number | null | undefined} value @param {number} decimals */
export function figure(value, decimals) {
  if (value === null || value === undefined) return DASH;
  const text = value.toFixed(decimals);
  return (Number(text) === 0 ? text.replace("-", "") : text).replace("-", MINUS);
}

/** With its sign, which is what a difference is about. @param {number | null | undefined} value @param {number} decimals */
export function signed(value, decimals) {
  const text = figure(value, decimals);
  return value != null && value > 0 && Number(text) !== 0 ? `+${text}` : text;
}

/** A share as a percentage. @param {number | null | undefined} share @param {number} [decimals] */
export function percent(share, decimals = 0) {
  return figure(share == null ? null : share * 100, decimals);
}

/** "45 min", "6 h 05 min" @param {number | null | undefined} minutes */
export function duration(minutes) {
  if (minutes == null) return DASH;
  const whole = Math.round(minutes);
  if (whole < 60) return say("run.minutes", { minutes: whole });
  return say("run.hours", { hours: Math.floor(whole / 60), minutes: String(whole % 60).padStart(2, "0") });
}

/** When a run began, as said beside its name: never without the time of day, since a still may run twice a day. @param {number} ms @param {number} now_ms @param {string} zone */
export function saidToTheMinute(ms, now_ms, zone) {
  const said = saidTime(ms, now_ms, zone);
  return said.includes(timeOfDay(ms, zone)) ? said : wholeTime(ms, zone);
}

/** Those of the key numbers that are shares, and told in percent. */
const SHARES = new Set(["recovered", "hearts_share", "efficiency"]);

/** @param {{name: string}} key */
export function isShare({ name }) {
  return SHARES.has(name);
}

/** A number of a key with its unit. @param {ReviewKey} key @param {number | null | undefined} value */
export function keyed({ name, unit, decimals }, value) {
  if (value == null) return DASH;
  if (unit === "min") return duration(value);
  if (isShare({ name })) return `${percent(value, 1)} %`;
  return `${figure(value, decimals)} ${unit}`.trim();
}

/** How much more that is than another's, as `keyed` writes it. @param {{name: string, unit: string, decimals: number}} key @param {number} less */
export function keyedLess({ name, unit, decimals }, less) {
  if (isShare({ name })) return signed(less * 100, 1);
  if (unit !== "min") return signed(less, decimals);
  const minutes = Math.round(less);
  return minutes === 0 ? duration(0) : `${minutes < 0 ? "−" : "+"}${duration(Math.abs(minutes))}`;
}

/** @typedef {string | Node} Cell */

/**
 * A table that may be wider than the page, and then is pushed along by itself.
 * @param {string} caption
 * @param {readonly string[]} heads
 * @param {readonly (readonly Cell[])[]} rows the first cell names the row
 * @param {readonly (readonly Cell[])[]} [foot]
 * @param {readonly number[]} [words] the columns that hold words: they wrap, and stand at the left
 */
export function tableOf(caption, heads, rows, foot = [], words = []) {
  const kind = (/** @type {number} */ at, /** @type {Cell} */ cell = "") => [cell === DASH ? "unknown" : "", words.includes(at) ? "words" : ""].filter(Boolean).join(" ") || null;
  const line = (/** @type {readonly Cell[]} */ cells) => make("tr", {}, ...cells.map((cell, at) => (at === 0 ? make("th", { scope: "row" }, cell) : make("td", { class: kind(at, cell) }, cell))));
  const table = make("table", {},
    make("caption", { class: "unseen" }, caption),
    make("thead", {}, make("tr", {}, ...heads.map((head, at) => make("th", { scope: "col", class: kind(at) }, head)))),
    make("tbody", {}, ...rows.map(line)),
    ...(foot.length > 0 ? [make("tfoot", {}, ...foot.map(line))] : []));
  return make("div", { class: "wider", tabindex: 0, role: "region", "aria-label": caption }, table);
}

/** What is shown only once it is opened, and made only then; printed where it stands open. @param {string} title @param {() => Node} content */
export function folded(title, content) {
  const root = make("details", { class: "folded" }, make("summary", {}, title));
  const fill = () => root.childElementCount === 1 && root.append(content());
  root.addEventListener("toggle", () => root.open && fill());
  root.addEventListener("fill", fill); // at once, where it is opened for paper
  return root;
}

/** Open what is folded, for paper; returns what folds it again. @param {ParentNode} root @returns {() => void} */
export function unfolded(root) {
  const shut = [...root.querySelectorAll("details")].filter(({ open }) => !open);
  for (const each of shut) {
    each.dispatchEvent(new Event("fill"));
    each.open = true;
  }
  return () => shut.forEach((each) => (each.open = false));
}
