// The table that says what the chart shows, for whoever reads it better so.

import { apiUrl } from "../shared/api.js";
import { age, day, saidTime, timeOfDay, timeToSecond, weekday } from "../shared/clock.js";
import { keepList, make, on, setText } from "../shared/dom.js";
import { degrees, unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { linesIn, linesOf } from "./lines.js";
import { knots } from "./polyline.js";
import { instants, stepFor } from "./ticks.js";
import { spanOf } from "./view.js";

/** @param {HTMLElement} root a box that scrolls */
export function mountTable(root) {
  const words = make("span");
  const csv = make("a", { download: true }, say("form.csv"));
  const caption = make("caption", {}, words, " ", csv);
  const head = make("tr");
  const body = make("tbody");
  const empty = make("p", { class: "none" }, say("table.empty"));
  const table = make("table", {}, caption, make("thead", {}, head), body);
  root.append(table, empty);
  on(root, "state", (/** @type {import("./sheet.js").Told} */ told) => {
    if (told.state.form === "table") fill({ words, csv, head, body, table, empty }, told);
  });
}

/**
 * @param {{words: HTMLElement, csv: HTMLAnchorElement, head: HTMLElement, body: HTMLElement, table: HTMLElement, empty: HTMLElement}} parts
 * @param {import("./sheet.js").Told} told
 */
function fill({ words, csv, head, body, table, empty }, { state, unit, zone }) {
  const { lines, rows, step } = tabulate(state, unit, zone);
  table.hidden = lines.length === 0;
  empty.hidden = lines.length > 0;
  const { view, now_ms } = state;
  const simulated = state.site?.simulated ? `${say("simulated.flag")}. ` : "";
  setText(words, simulated + say("table.caption", {
    unit: unitSign(unit), zone, step: stepText(step),
    from: saidTime(view.from_ms, now_ms, zone), to: saidTime(view.to_ms, now_ms, zone),
  }));
  csv.href = csvAddress(view);
  const heads = [{ key: "time", text: say("table.time"), under: "" }, ...lines.map(({ key, name, under }) => ({ key, text: name, under }))];
  keepList(head, heads, ({ key }) => key, () => make("th", { scope: "col" }), (cell, { text, under }) => {
    setText(cell, [text, under].filter(Boolean).join(" · "));
  });
  keepList(body, rows, (row) => String(row.from_ms), () => make("tr", {}, make("th", { scope: "row" })), (element, row) => {
    setText(element.children[0] ?? element, row.time);
    row.cells.forEach((cell, index) => {
      const place = element.children[index + 1] ?? element.appendChild(make("td"));
      setText(place, cellText(cell));
    });
    while (element.children.length > row.cells.length + 1) element.lastElementChild?.remove();
  });
}

/** @param {Cell} cell */
function cellText(cell) {
  if (!cell) return say("table.none");
  const [low, high] = [cell.low, cell.high].map((value) => value.toFixed(1).replace("-", "\u2212"));
  return low === high ? `${low}` : say("table.between", { low: low ?? "", high: high ?? "" });
}

/** @param {import("./ticks.js").Step} step */
function stepText({ kind, count }) {
  const minutes = { minutes: 1, days: 1440, months: 43_200 }[kind] * count;
  return kind === "months" ? say("table.months", { count }) : age(Math.round(minutes * 60) * 1000);
}

/** @param {import("./view.js").View} view */
function csvAddress({ from_ms, to_ms }) {
  const iso = (/** @type {number} */ ms) => new Date(ms).toISOString();
  return apiUrl("export.csv", { from: iso(from_ms), to: iso(to_ms) });
}

const MOST_ROWS = 48;

/** @typedef {{low: number, high: number} | null} Cell null: no reading */
/** @typedef {{from_ms: number, time: string, cells: Cell[]}} Row */
/** @typedef {{lines: import("./lines.js").Line[], rows: Row[], step: import("./ticks.js").Step}} Table */

/**
 * @param {import("./reduce.js").State} state
 * @param {import("../shared/units.js").Unit} unit
 * @param {string} zone
 * @returns {Table} newest row first
 */
export function tabulate(state, unit, zone) {
  const { view, history, live } = state;
  const step = stepFor(spanOf(view), MOST_ROWS);
  const edges = [...new Set([view.from_ms, ...instants(view.from_ms, view.to_ms, step, zone)])];
  const turn = (/** @type {number} */ celsius) => degrees(celsius, unit);
  const all = linesIn(linesOf(live, history?.traces ?? []), state.vessel).map((line) => ({
    line,
    found: knots(line.trace, view.from_ms, view.to_ms, turn),
  }));
  const kept = all.filter(({ line, found }) => line.live || extremes(found, view.from_ms, view.to_ms));
  const rows = edges.map((from_ms, index) => {
    const to_ms = edges[index + 1] ?? view.to_ms;
    const cells = kept.map(({ found }) => extremes(found, from_ms, to_ms));
    return { from_ms, time: timeText(from_ms, step, zone), cells };
  });
  return { lines: kept.map(({ line }) => line), rows: rows.reverse(), step };
}

/** @param {readonly import("./polyline.js").Knot[]} found @param {number} from_ms @param {number} to_ms @returns {Cell} */
function extremes(found, from_ms, to_ms) {
  const inside = found.filter(({ at }) => at >= from_ms && at < to_ms);
  if (inside.length === 0) return null;
  return {
    low: Math.min(...inside.map(({ low }) => low)),
    high: Math.max(...inside.map(({ high }) => high)),
  };
}

/** @param {number} ms @param {import("./ticks.js").Step} step @param {string} zone */
function timeText(ms, { kind, count }, zone) {
  if (kind !== "minutes") return day(ms, zone);
  return `${weekday(ms, zone)} ${count < 1 ? timeToSecond(ms, zone) : timeOfDay(ms, zone)}`;
}
