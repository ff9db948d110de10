// The labels where the lines end: name, number, trend, age and health, each at the height of its
// line, none upon another. Pressing one shows its line alone.

import { ago, saidTime } from "../shared/clock.js";
import { ask, keepList, make, makeSvg, setAttributes, setText } from "../shared/dom.js";
import { slope, temperature, unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { makeDash, strokeDash } from "./strokes.js";
import { healthOf } from "./health.js";
import { spread } from "./spread.js";

const GAP = 4;
const NO_NUMBER = "–.–"; // the shape of a number with nothing in it

/** @typedef {import("./drawing.js").Drawn} Drawn */
/** @typedef {{state: import("./reduce.js").State, unit: import("../shared/units.js").Unit, zone: string, drawn: import("./drawing.js").Drawing, top: number, height: number}} Shown */

/** @param {HTMLElement} root */
export function mountRail(root) {
  const leaders = makeSvg("svg", { class: "leaders", "aria-hidden": "true" });
  const list = make("ul", { class: "labels" });
  const none = make("p", { class: "none", hidden: true }, say("label.none"));
  root.append(leaders, list, none);
  return (/** @type {Shown} */ shown) => {
    const lines = shown.drawn.lines.filter(({ line }) => line.live); // what is past has no number now
    none.hidden = lines.length > 0;
    keepList(list, lines, ({ line }) => line.key, makeLabel, (item, drawn) => {
      fillLabel(item, drawn, shown);
    });
    layOut(leaders, list, lines, shown);
  };
}

/** @param {Drawn} drawn */
function makeLabel({ line }) {
  const button = make("button", { type: "button" });
  button.append(
    makeDash(),
    make("span", { class: "who" }, make("span", { class: "name" }), make("span", { class: "under" })),
    make("span", { class: "value" }),
    make("span", { class: "unseen unit" }),
    make("span", { class: "aside" }, make("span", { class: "first" }), make("span", { class: "second" }), make("span", { class: "third" })),
    make("span", { class: "unseen todo" }),
  );
  button.addEventListener("click", () => ask(button, "alone", { key: line.key }));
  return make("li", { class: "label" }, button);
}

/** What a label says. @typedef {{good: boolean, value: string, unit: string, first: string, second: string, third: string, todo: string}} Label */

/**
 * @param {Element} item
 * @param {Drawn} drawn
 * @param {Shown} shown
 */
function fillLabel(item, { line }, shown) {
  const label = labelOf(line, shown);
  const button = item.firstElementChild;
  if (!button) return;
  const set = (/** @type {string} */ name, /** @type {string} */ text) => {
    const part = button.querySelector(`.${name}`);
    if (part) setText(part, text);
  };
  set("name", line.name);
  set("under", line.under);
  set("value", label.value);
  set("first", label.first);
  set("second", label.second);
  set("third", label.third);
  set("unit", label.unit);
  set("todo", label.todo);
  button.querySelector(".value")?.setAttribute("aria-hidden", String(!label.good));
  const dash = button.querySelector(".dash");
  if (dash) strokeDash(dash, line.stroke);
  setAttributes(button, {
    "aria-pressed": String(shown.state.alone === line.key),
    title: line.title,
    "data-tone": line.stroke.tone,
  });
  item.classList.toggle("bad", !label.good);
}

/** @param {import("./lines.js").Line} line @param {Shown} shown @returns {Label} */
function labelOf(line, shown) {
  const { live } = shown.state;
  if (!live || !line.live) return badLabel(line, "none", shown);
  const health = healthOf(line.live, live);
  if (!health.good) return badLabel(line, health.grade, shown);
  return goodLabel(line.live, live, shown);
}

/**
 * @param {LivePlace} place
 * @param {LiveState} live
 * @param {Shown} shown
 * @returns {Label}
 */
function goodLabel(place, live, { unit }) {
  const trend = place.trend_per_min;
  return {
    good: true,
    value: temperature(place.value ?? 0, unit),
    unit: unitSign(unit),
    first: trend === null ? say("label.notrend") : say("label.trend", { slope: slope(trend, unit) }),
    second: ago((live.age_s ?? 0) * 1000, live.period_s ?? 1),
    third: "",
    todo: "",
  };
}

/**
 * @param {import("./lines.js").Line} line
 * @param {string} grade
 * @param {Shown} shown
 * @returns {Label}
 */
function badLabel(line, grade, { state, unit, zone }) {
  const value = line.live?.last_good_value ?? null;
  const at_ms = line.live?.good_ms ?? null;
  const read = value !== null && at_ms !== null;
  const last = read ? { value: temperature(value, unit), time: saidTime(at_ms, state.now_ms, zone) } : null;
  return {
    good: false,
    value: NO_NUMBER,
    unit: say("label.nonumber"),
    first: say(`grade.${grade}`),
    second: last ? say("label.last", last) : say("label.never"),
    third: last ? say("label.lastat", last) : "",
    todo: `${say(`why.${grade}`)}. ${say(`todo.${grade}`)}`,
  };
}

/**
 * @param {SVGSVGElement} leaders
 * @param {HTMLElement} list
 * @param {readonly Drawn[]} lines
 * @param {Shown} shown
 */
function layOut(leaders, list, lines, { top, height }) {
  const items = /** @type {HTMLElement[]} */ ([...list.children]);
  const sizes = items.map((item) => item.offsetHeight);
  const ends = lines.map(({ end }) => top + (1 - end) * height);
  const wishes = items.map((_, index) => ({ at: ends[index] ?? 0, size: sizes[index] ?? 0 }));
  const starts = spread(wishes, 0, top + height + 40, GAP);
  items.forEach((item, index) => {
    item.style.transform = `translateY(${Math.round(starts[index] ?? 0)}px)`;
  });
  const need = sizes.reduce((sum, size) => sum + size + GAP, 0);
  list.style.minHeight = `${need}px`;
  drawLeaders(leaders, lines, ends, starts, sizes);
}

/**
 * @param {SVGSVGElement} leaders
 * @param {readonly Drawn[]} lines
 * @param {readonly number[]} ends
 * @param {readonly number[]} starts
 * @param {readonly number[]} sizes
 */
function drawLeaders(leaders, lines, ends, starts, sizes) {
  const width = leaders.clientWidth;
  keepList(leaders, lines, ({ line }) => line.key, () => makeSvg("path"), (path, { line, reaches, faded }, index) => {
    const from = Math.round(ends[index] ?? 0) + 0.5;
    const to = Math.round((starts[index] ?? 0) + (sizes[index] ?? 0) / 2) + 0.5;
    const bend = width / 2;
    setAttributes(path, {
      d: `M0 ${from}C${bend} ${from} ${bend} ${to} ${width} ${to}`,
      "data-tone": line.stroke.tone,
      class: reaches ? (faded ? "faded" : null) : "absent",
    });
  });
}
