// The table that says what the chart shows, for whoever reads it better so.

import { apiUrl } from "../shared/api.js";
import { keepList, make, on, setText } from "../shared/dom.js";
import { age } from "../shared/ages.js";
import { saidTime } from "../shared/clock.js";
import { unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { tabulate } from "./tabulate.js";

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
  setText(words, say("table.caption", {
    unit: unitSign(unit), zone, step: stepText(step),
    from: saidTime(view.from_ms, now_ms, zone), to: saidTime(view.to_ms, now_ms, zone),
  }));
  csv.href = csvAddress(view);
  const heads = [{ key: "time", text: say("table.time"), vessel: null }, ...lines.map(({ key, name, vessel }) => ({ key, text: name, vessel }))];
  keepList(head, heads, ({ key }) => key, () => make("th", { scope: "col" }), (cell, { text, vessel }) => {
    setText(cell, [text, vessel].filter(Boolean).join(" · "));
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

/** @param {import("./tabulate.js").Cell} cell */
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
