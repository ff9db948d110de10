// The curve of an answer: drawn, read at any place by hand or by keys, or as a table.

import { make, makeSvg, setAttributes, setText } from "../shared/dom.js";
import { makeDash, strokeDash } from "../now/strokes.js";
import { spread } from "../now/spread.js";
import { parts, say } from "../texts.js";
import { nearest, picture, rowsShown, withUnit } from "./curve_data.js";
import { draw } from "./plot.js";
import { said, saidShown, scaleOf } from "./values.js";
import { weave } from "./weave.js";

const HEAD = 26; // pixels over each panel, for its name
const FOOT = 24; // under the last, for the numbers of x
const LEFT = 50;
const RAIL = 190;
const WIDE = 620;
const LABEL = 36;

/** @typedef {{declaration: Declaration, columns: Columns, units: Units, here: number | null, marks: Record<string, number | null>}} Shown */

/** @param {HTMLElement} root @param {() => Promise<Plotly | null>} library fetches plotly.js when first wanted */
export function mountCurve(root, library) {
  const title = make("h2");
  const turn = make("button", { type: "button", class: "quiet" });
  const read = make("p", { class: "read", id: "curve-read" });
  const canvas = make("div", { class: "canvas" });
  const over = makeSvg("svg", { class: "over", "aria-hidden": "true" });
  const labels = make("div", { class: "labels" });
  const hand = make("input", { type: "range", class: "hand", step: "any", "aria-label": say("curve.read") });
  const chart = make("div", { class: "chart" }, canvas, over, labels, hand);
  const xName = make("p", { class: "x-name" });
  const note = make("p", { class: "note" });
  const table = make("div", { class: "numbers", tabindex: 0, role: "region", hidden: true });
  root.append(make("div", { class: "curve-head" }, title, turn), read, chart, xName, note, table);
  /** @type {Shown | null} */
  let shown = null;
  /** @type {import("./curve_data.js").Picture | null} */
  let drawn = null;
  /** @type {Plotly | null} */
  let plotly = null;
  let asTable = false;
  let painting = 0;

  const paint = async () => {
    root.hidden = !shown;
    if (!shown) return;
    const { declaration, columns, units, here, marks } = shown;
    drawn = picture(declaration, columns, units, here, marks);
    root.hidden = !drawn;
    if (!drawn) return;
    setText(title, declaration.curve?.title ?? "");
    setText(turn, say(asTable ? "curve.chart" : "curve.table"));
    table.hidden = !asTable;
    for (const part of [chart, read, xName]) part.hidden = asTable;
    const band = declaration.curve?.band?.map((name) => declaration.curve?.columns.find((one) => one.name === name)?.label ?? "");
    setText(note, band && !asTable ? say("curve.band", { low: band[0] ?? "", high: band[1] ?? "" }) : "");
    if (asTable) return fillTable(table, shown);
    setText(xName, named(drawn.x.label, drawn.xScale.unit));
    setAttributes(hand, { min: drawn.xAxis.low, max: drawn.xAxis.high });
    if (here !== null && drawn.here !== null && document.activeElement !== hand) hand.value = String(here * drawn.xScale.factor + drawn.xScale.offset);
    const mine = (painting += 1);
    plotly ??= await library();
    if (mine !== painting || !drawn) return;
    if (!plotly) {
      asTable = true;
      setText(turn, "");
      setText(note, say("curve.noplot"));
      table.hidden = false;
      for (const part of [chart, read, xName]) part.hidden = true;
      return fillTable(table, shown);
    }
    const box = boxFor(drawn, root.clientWidth);
    chart.style.height = `${box.whole}px`;
    await draw(plotly, canvas, drawn, box);
    if (drawn) annotate(drawn, box);
    root.dataset.drawn = declaration.name;
  };

  /** @param {import("./curve_data.js").Picture} drawing @param {import("./plot.js").Box} box */
  const annotate = (drawing, box) => {
    hand.style.left = `${box.left}px`;
    hand.style.width = `${box.width}px`;
    setAttributes(over, { width: box.left + box.width + 8, height: box.whole });
    labels.replaceChildren(...drawing.panels.flatMap((panel, index) => panelLabels(panel, index, drawing, box)));
    point(drawing, box);
  };

  /** @param {import("./curve_data.js").Picture} drawing @param {import("./plot.js").Box} box */
  const point = (drawing, box) => {
    const byHand = document.activeElement === hand || hovered;
    const index = nearest(drawing.xs, Number(hand.value));
    const wanted = byHand ? (drawing.xs[index] ?? null) : null;
    const here = drawing.here === null ? null : drawing.here * drawing.xScale.factor + drawing.xScale.offset;
    over.replaceChildren(
      ...(here === null ? [] : markAt(drawing, box, here, (line) => line.mark, "now")),
      ...(wanted === null ? [] : markAt(drawing, box, wanted, (line) => line.ys[index] ?? null, "hair")),
    );
    const text = shown ? readingAt(shown, drawing, wanted === null ? null : index) : [];
    read.replaceChildren(...weave(text));
    hand.setAttribute("aria-valuetext", read.textContent ?? "");
  };

  let hovered = false;
  const repoint = () => {
    if (drawn) point(drawn, boxFor(drawn, root.clientWidth));
  };
  hand.addEventListener("input", repoint);
  hand.addEventListener("focus", repoint);
  hand.addEventListener("blur", repoint);
  hand.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -10, PageUp: 10 }[event.key];
    if (step === undefined || !drawn) return;
    event.preventDefault();
    const index = Math.max(0, Math.min(drawn.xs.length - 1, nearest(drawn.xs, Number(hand.value)) + step));
    hand.value = String(drawn.xs[index] ?? hand.value);
    repoint();
  });
  hand.addEventListener("pointermove", (event) => {
    if (event.pointerType !== "mouse" || !drawn) return;
    hovered = true;
    const { left, width } = hand.getBoundingClientRect();
    hand.value = String(drawn.xAxis.low + ((event.clientX - left) / width) * (drawn.xAxis.high - drawn.xAxis.low));
    repoint();
  });
  hand.addEventListener("pointerleave", () => {
    hovered = false;
    repoint();
  });
  turn.addEventListener("click", () => {
    asTable = !asTable;
    void paint();
  });
  let width = 0;
  new ResizeObserver(() => {
    if (root.clientWidth === width) return;
    width = root.clientWidth;
    void paint();
  }).observe(root);

  return {
    /** @param {Shown | null} now */
    show(now) {
      if (!now) painting += 1;
      shown = now;
      void paint();
    },
    paint: () => void paint(),
  };
}

/** @param {import("./curve_data.js").Picture} drawn @param {number} width @returns {import("./plot.js").Box} */
function boxFor(drawn, width) {
  const railed = railFits(drawn, width);
  const inner = Math.max(120, width - LEFT - 8 - (railed ? RAIL : 0));
  const tall = width >= WIDE ? 300 : 240;
  const heights = drawn.panels.map(() => (drawn.panels.length === 1 ? tall : tall * 0.66));
  const keys = (/** @type {number} */ index) => (railed ? 0 : Math.max(0, (drawn.panels[index]?.lines.length ?? 1) - 1) * 20 + (index > 0 ? 10 : 0));
  const tops = heights.map((_, index) => heights.slice(0, index).reduce((sum, one, k) => sum + one + HEAD + keys(k), HEAD) + keys(index));
  const whole = (tops.at(-1) ?? 0) + (heights.at(-1) ?? 0) + FOOT;
  return { left: LEFT, width: inner, outer: width, tops, heights, whole };
}

/** @param {import("./curve_data.js").Picture} drawn @param {number} width */
function railFits(drawn, width) {
  return width >= WIDE && drawn.panels.some(({ lines }) => lines.length > 1);
}

/** @param {string} label @param {string} unit */
function named(label, unit) {
  return unit ? say("curve.unit", { label, unit }) : label;
}

/**
 * The unit over a panel; each line's name where it ends, or (where that is too narrow) above.
 * @param {import("./curve_data.js").Panel} panel
 * @param {number} index
 * @param {import("./curve_data.js").Picture} drawn
 * @param {import("./plot.js").Box} box
 */
function panelLabels(panel, index, drawn, box) {
  const top = box.tops[index] ?? 0;
  const height = box.heights[index] ?? 0;
  const railed = railFits(drawn, box.outer);
  if (panel.lines.length === 1 || !railed) {
    return panel.lines.map((line, place) => {
      const dash = makeDash();
      strokeDash(dash, { tone: line.tone, dash: line.dash });
      return styled(make("p", { class: "key" }, ...(panel.lines.length > 1 || drawn.panels.length > 1 ? [dash] : []), named(line.column.label, panel.unit)), LEFT, top - HEAD - (panel.lines.length - 1 - place) * 20 + 2);
    });
  }
  const ends = panel.lines.map((line) => lastOf(line.ys) ?? panel.axis.low);
  const wishes = ends.map((y) => ({ at: top + (1 - (y - panel.axis.low) / (panel.axis.high - panel.axis.low)) * height, size: LABEL }));
  const starts = spread(wishes, top - LABEL / 2, top + height + LABEL / 2);
  const unit = styled(make("p", { class: "key" }, panel.unit), LEFT, top - HEAD + 2);
  return [unit, ...panel.lines.map((line, place) => {
    const dash = makeDash();
    strokeDash(dash, { tone: line.tone, dash: line.dash });
    return styled(make("p", { class: "end" }, dash, make("span", {}, line.column.label)), LEFT + box.width + 12, starts[place] ?? 0);
  })];
}

/** @param {HTMLElement} element @param {number} left @param {number} top */
function styled(element, left, top) {
  element.style.left = `${left}px`;
  element.style.top = `${top}px`;
  return element;
}

/** @param {readonly (number | null)[]} ys */
function lastOf(ys) {
  return ys.findLast((y) => y !== null) ?? null;
}

/**
 * @param {import("./curve_data.js").Picture} drawn
 * @param {import("./plot.js").Box} box
 * @param {number} x as shown
 * @param {(line: import("./curve_data.js").Line) => number | null} valueOf
 * @param {string} kind
 */
function markAt({ panels, xAxis }, box, x, valueOf, kind) {
  const px = box.left + ((x - xAxis.low) / (xAxis.high - xAxis.low)) * box.width;
  return panels.flatMap((panel, index) => {
    const top = box.tops[index] ?? 0;
    const height = box.heights[index] ?? 0;
    const line = makeSvg("line", { class: kind, x1: px, x2: px, y1: top, y2: top + height });
    const dots = panel.lines.flatMap((one) => {
      const value = valueOf(one);
      if (value === null || value < panel.axis.low || value > panel.axis.high) return [];
      const cy = top + (1 - (value - panel.axis.low) / (panel.axis.high - panel.axis.low)) * height;
      return [makeSvg("circle", { class: kind, "data-tone": one.tone, cx: px, cy, r: kind === "now" ? 6 : 4 })];
    });
    return [line, ...dots];
  });
}

/**
 * What the curve says at one of its points, or where the answer stands.
 * @param {Shown} shown
 * @param {import("./curve_data.js").Picture} drawn
 * @param {number | null} index
 */
function readingAt({ declaration, columns, units, here, marks }, drawn, index) {
  const { x, xScale } = drawn;
  const at = index === null ? here : (columns[x.name]?.[index] ?? null);
  if (at === null) return [];
  const curve = declaration.curve;
  const pairs = drawn.panels.flatMap((panel) => panel.lines).flatMap((line) => {
    const shownValue = index === null ? line.mark : (line.ys[index] ?? null);
    return shownValue === null ? [] : [{ label: line.column.label, value: `${saidShown(shownValue, line.column.decimals, line.scale)} ${line.scale.unit}`.trim() }];
  });
  for (const name of curve?.band ?? []) {
    const column = curve?.columns.find((one) => one.name === name);
    const metric = index === null ? (marks[name] ?? null) : (columns[name]?.[index] ?? null);
    if (column && metric !== null) pairs.push({ label: column.label, value: withUnit(column, scaleOf(column.unit, declaration.us_units, units), metric) });
  }
  const head = parts("curve.at", { x: withUnit(x, xScale, at) });
  return pairs.reduce((all, pair) => [...all, { text: " \u00b7 ", strong: false }, ...parts("curve.pair", pair)], head);
}

/** @param {HTMLElement} root @param {Shown} shown */
function fillTable(root, { declaration, columns, units }) {
  const { curve, us_units } = declaration;
  if (!curve) return;
  const all = curve.columns.filter(({ name }) => columns[name]);
  const scales = all.map(({ unit }) => scaleOf(unit, us_units, units));
  const heads = all.map((column, index) => make("th", { scope: "col" }, named(column.label, scales[index]?.unit ?? "")));
  const rows = rowsShown(columns[curve.x]?.length ?? 0).map((at) => {
    const cells = all.map(({ name, decimals }, index) => {
      const value = columns[name]?.[at] ?? null;
      const scale = scales[index];
      return make(name === curve.x ? "th" : "td", name === curve.x ? { scope: "row" } : {}, value === null || !scale ? say("curve.none") : said(value, decimals, scale));
    });
    return make("tr", {}, ...cells);
  });
  root.setAttribute("aria-label", curve.title);
  root.replaceChildren(make("table", {}, make("caption", {}, say("curve.caption", { title: curve.title })), make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows)));
}

