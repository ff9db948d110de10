// The stock book as a table: each vessel, then the site.

import { make } from "../shared/dom.js";
import { say } from "../texts.js";

const COLUMNS = ["opening", "received", "produced", "used", "lost", "destroyed", "sampled", "difference", "closing"];

/** @typedef {{volume_l: number, pure_alcohol_l: number}} Bulk */
/** @typedef {{vessel_id: string | null, name: string} & Record<string, any>} StockRow */
/** @typedef {{from_at: string, to_at: string, locked_until: string | null, left_out: number, rows: StockRow[], doubts: readonly object[]}} Book */

/** @param {Book} book @param {string} caption */
export function drawBook({ rows }, caption) {
  const head = make("tr", {}, make("th", { scope: "col" }, say("stock.where")), ...COLUMNS.map((column) => make("th", { scope: "col" }, say(`stock.${column}`))));
  const body = rows.map((row, index) => make("tr", { class: index === rows.length - 1 ? "site" : null }, make("th", { scope: "row" }, row.name), ...COLUMNS.map((column) => cell(row[column]))));
  return make("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": caption }, make("table", {}, make("caption", {}, caption), make("thead", {}, head), make("tbody", {}, ...body)));
}

/** @param {Bulk} bulk */
function cell({ volume_l, pure_alcohol_l }) {
  if (volume_l === 0 && pure_alcohol_l === 0) return make("td", { class: "nothing" }, "–");
  return make("td", {}, make("b", {}, number(volume_l, 1)), make("small", {}, number(pure_alcohol_l, 2)));
}

/** What went into a lot or out of it, or was found there, as one chooses it to be put right. @param {string} way @param {number} volume_l @param {string} time */
export function stepText(way, volume_l, time) {
  const volume = say("lots.volume", { volume: Math.abs(volume_l).toFixed(2) });
  const amount = Math.abs(volume_l) < 0.005 ? volume : say(volume_l < 0 ? "lots.minus" : "lots.plus", { amount: volume });
  return say("stock.correct.step", { time, way: say(`went.${way}`), amount });
}

/** @param {number} value @param {number} decimals */
function number(value, decimals) {
  return value.toFixed(decimals).replace("-", "\u2212").replace(/^\u2212(0\.0+)$/, "$1");
}
