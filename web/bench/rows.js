// The things of which a calculation takes many, together: one row for each jar, grain or botanical.

import { ask, make, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { makeNumber, makeSelect, rangeText } from "./field.js";
import { scaleOf } from "./values.js";

/** @typedef {{item: Taken, element: HTMLElement, read: () => import("./field.js").Reading, put: (value: Given | null) => void, show: (units: Units) => void}} Cell */

/**
 * @param {readonly Taken[]} items the columns
 * @param {Record<string, UsUnit>} us_units
 */
export function makeRows(items, us_units) {
  const heads = items.map(({ choices }) => make("th", { scope: "col", class: choices.length > 0 ? "named" : null }));
  const body = make("tbody");
  const add = make("button", { type: "button", class: "quiet add" }, say("rows.add"));
  const error = make("p", { class: "refused", id: "error-rows", "aria-live": "polite", hidden: true });
  const table = make("table", {}, make("thead", {}, make("tr", {}, ...heads, make("td"))), body);
  const root = make("div", { class: "rows" }, table, error, add);
  /** @type {{element: HTMLElement, cells: Cell[]}[]} */
  let rows = [];
  /** @type {Units} */
  let units = "metric";

  const number = () => rows.forEach(({ element, cells }, index) => {
    for (const cell of cells) cell.element.setAttribute("aria-label", say("rows.cell", { label: cell.item.label, index: index + 1 }));
    const remove = element.querySelector("button");
    remove?.setAttribute("aria-label", say("rows.remove", { index: index + 1 }));
    if (remove) remove.disabled = rows.length === 1;
  });
  const append = () => {
    const cells = items.map((item) => makeCell(item, us_units));
    const remove = make("button", { type: "button", class: "remove" }, "\u00d7");
    const element = make("tr", {}, ...cells.map((cell) => make("td", {}, cell.element)), make("td", {}, remove));
    const row = { element, cells };
    remove.addEventListener("click", () => {
      rows = rows.filter((one) => one !== row);
      element.remove();
      number();
      rows.at(-1)?.cells[0]?.element.focus();
      ask(root, "given");
    });
    rows.push(row);
    body.append(element);
    for (const cell of cells) cell.show(units);
    number();
    return row;
  };
  add.addEventListener("click", () => {
    const row = append();
    row.cells[0]?.element.focus();
    ask(root, "given");
  });

  return {
    root, items,
    /** @returns {{values: Map<string, (number | string | null)[]>, problem: string | null}} a column without any value is left out */
    read() {
      const readings = rows.map(({ cells }) => cells.map((cell) => cell.read()));
      const problem = readings.flat().find((one) => one.problem)?.problem ?? null;
      const told = readings.filter((row) => row.some(({ value }, index) => value !== null && items[index]?.choices.length === 0));
      const columns = items.map((item, index) => /** @type {[string, (number | string | null)[]]} */ ([item.name, told.map((row) => row[index]?.value ?? null)]));
      return { values: new Map(columns.filter(([, values]) => values.some((value) => value !== null))), problem };
    },
    /** @param {Map<string, Given | null>} values */
    put(values) {
      const columns = items.map(({ name }) => asList(values.get(name) ?? null));
      rows = [];
      body.replaceChildren();
      const count = Math.max(1, ...columns.map((column) => column.length));
      for (let index = 0; index < count; index += 1) {
        append().cells.forEach((cell, place) => cell.put(columns[place]?.[index] ?? null));
      }
    },
    /** @param {Units} now */
    show(now) {
      units = now;
      items.forEach((item, index) => {
        const unit = scaleOf(item.unit, us_units, now).unit;
        const range = rangeText(item, us_units, now);
        heads[index]?.replaceChildren(item.label, make("span", { class: "range" }, [unit, range].filter(Boolean).join(", ")));
      });
      for (const { cells } of rows) for (const cell of cells) cell.show(now);
    },
    /** @param {string | null} sentence */
    refuse(sentence) {
      setText(error, sentence ?? "");
      error.hidden = sentence === null;
      root.classList.toggle("bad", sentence !== null);
    },
  };
}

/** @param {Taken} item @param {Record<string, UsUnit>} us_units @returns {Cell} */
function makeCell(item, us_units) {
  if (item.choices.length === 0) {
    const { input, ...rest } = makeNumber(item, us_units, {});
    return { item, element: input, ...rest };
  }
  const select = makeSelect(item, {});
  return {
    item, element: select, show() {},
    read: () => ({ value: select.value, problem: null }),
    put: (value) => {
      select.value = item.choices.find((one) => one === value) ?? item.choices[0] ?? "";
    },
  };
}

/** @param {Given | null} value @returns {(number | string | null)[]} */
function asList(value) {
  if (value === null) return [];
  return Array.isArray(value) ? value : String(value).split(",");
}
