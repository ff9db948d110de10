// A batch's balance: where its pure alcohol came from and where it went, the error beside each
// number, and what cannot be true with the likely slips.

import { make } from "../shared/dom.js";
import { has, say } from "../texts.js";

/** @typedef {{pure_alcohol_l: number, error_l: number}} Amount */
/** @typedef {{name: string, amount: Amount}} Term */

/** @param {any} balance as the service gives it */
export function drawBalance(balance) {
  const { came, found, came_total, found_total, doubts } = balance;
  const left = balance.left_out > 0 ? [make("p", { class: "hint" }, say(balance.left_out === 1 ? "balance.leftout.one" : "balance.leftout", { count: balance.left_out }))] : [];
  if (isEmpty(balance)) return make("div", { class: "balance" }, make("p", { class: "hint" }, say("batch.balance.none")), beside(balance), ...left);
  return make("div", { class: "balance" },
    make("div", { class: "sides" }, side("balance.came", came, came_total), side("balance.found", found, found_total)),
    beside(balance),
    ...(doubts.length > 0 ? [drawDoubts(doubts)] : [make("p", { class: "hint" }, say("balance.closes", { coverage: balance.coverage }))]),
    ...left);
}

/** Nothing on either side: it closes only because nothing was entered. @param {any} balance */
export function isEmpty({ came, found, doubts }) {
  return doubts.length === 0 && [...came, ...found].map(amountOf).every(({ pure_alcohol_l, error_l }) => pure_alcohol_l === 0 && error_l === 0);
}

/** What is part of neither side: what was expected of the bill, and what came over. @param {any} balance */
function beside({ expected, collected }) {
  const told = [
    expected ? say("balance.expected", { alcohol: expected.pure_alcohol_l.toFixed(2), low: expected.pure_alcohol_low_l.toFixed(2), high: expected.pure_alcohol_high_l.toFixed(2) }) : "",
    collected.pure_alcohol_l > 0 ? say("balance.collected", { alcohol: collected.pure_alcohol_l.toFixed(3), error: collected.error_l.toFixed(3) }) : "",
  ].filter(Boolean);
  return make("p", { class: "hint", hidden: told.length === 0 }, say("balance.beside", { parts: told.join("; ") }));
}

/** @param {string} title @param {any[]} terms @param {any} total */
function side(title, terms, total) {
  const rows = terms.map((term) => row(nameOf(term), amountOf(term)));
  return make("table", {},
    make("caption", {}, say(title)),
    make("thead", {}, make("tr", {}, make("th", { scope: "col" }, say("balance.what")), make("th", { scope: "col" }, say("balance.alcohol")))),
    make("tbody", {}, ...rows),
    make("tfoot", {}, row(say("balance.total"), total)));
}

/** @param {string} name @param {any} amount */
function row(name, amount) {
  const cell = make("td", {}, make("b", {}, amount.pure_alcohol_l.toFixed(3).replace("-", "\u2212")), " ", make("small", {}, `± ${amount.error_l.toFixed(3)}`));
  return make("tr", {}, make("th", { scope: "row" }, name), cell);
}

/** @param {any} term */
function amountOf(term) {
  return term.amount ?? term;
}

/** @param {any} term */
function nameOf(term) {
  const key = term.name ?? term.term ?? term.kind ?? "";
  return has(`balance.term.${key}`) ? say(`balance.term.${key}`) : String(key).replaceAll("_", " ");
}

/** What cannot be true, each with the slips that would explain it. @param {readonly any[]} doubts */
export function drawDoubts(doubts) {
  return make("ul", { class: "doubts", "aria-label": say("balance.doubts") }, ...doubts.map(drawDoubt));
}

/** @param {any} doubt */
function drawDoubt(doubt) {
  const slips = doubt.slips ?? [];
  return make("li", {}, make("p", {}, doubt.sentence), ...(slips.length > 0 ? [make("p", { class: "hint" }, say("balance.slips")), make("ol", {}, ...slips.map((/** @type {any} */ slip) => make("li", {}, slip.sentence ?? String(slip))))] : []));
}
