// A stack of panels on one axis: lines named where they end, marks as fine lines through all of
// them, and a hand that goes along the axis and reads every line at once.

import { make, makeSvg, setAttributes, setText } from "../shared/dom.js";
import { heightOf } from "../now/scale.js";
import { spread } from "../now/spread.js";
import { makeDash, strokeDash } from "../now/strokes.js";
import { say } from "../texts.js";
import { labelled } from "../record/run.js";
import { drawPanel, scaleOf } from "./panel_plot.js";

const NAME_PX = 18;
const ROWS = 3;
const STEPS = 720;
const REACH = 0.012; // of the axis: as near as a point must be to be read

/** @typedef {import("./panel_plot.js").Panel} Panel */
/** @typedef {import("./panel_plot.js").Line} Line */
/** @typedef {{x: number, text: string, title: string, kind: MarkKind}} Mark */
/** Something that stood from one place of the axis to another, or at one. @typedef {{from: number, to: number, text: string}} Told */
/** What stands between panels, drawn for a width. @typedef {{root: HTMLElement, draw: (from: number, to: number, width: number) => void}} Strip */
/**
 * @typedef {object} Picture
 * @property {number} from
 * @property {number} to
 * @property {readonly Panel[]} panels
 * @property {readonly Mark[]} marks
 * @property {readonly {from: number, to: number, text: string}[]} hatched stretches without a reading
 * @property {readonly (readonly Told[])[]} told what was called and noted, kind by kind: the nearest of each is read
 * @property {Record<string, readonly Strip[]>} strips by the panel they stand under
 * @property {(root: HTMLElement, width: number) => void} axis draws the axis
 * @property {(x: number) => string} at a place of the axis, in words
 * @property {string} label what the whole shows
 */

/** @param {() => Promise<Plotly | null>} library */
export function makePanels(library) {
  const over = make("div", { class: "over", "aria-hidden": "true" });
  const rows = make("div", { class: "rows" });
  const axis = make("div", { class: "axis", "aria-hidden": "true" });
  const hand = make("input", { type: "range", class: "alonghand", min: 0, max: STEPS, value: 0, "aria-label": say("run.reading") });
  const reading = make("p", { class: "reading", "aria-hidden": "true" });
  const course = make("div", { class: "course" }, over, make("div", { class: "names" }), rows, axis, hand);
  const root = make("div", { class: "stack" }, course, reading);
  /** @type {Picture | null} */
  let shown = null;
  let width = 0;
  let painting = 0;

  async function paint() {
    const mine = (painting += 1);
    const plotly = await library();
    if (mine !== painting || !shown) return;
    if (!plotly) {
      root.replaceChildren(make("p", { class: "hint" }, say("run.nochart")));
      return;
    }
    width = rows.clientWidth;
    if (width === 0) return;
    const { panels, strips, from, to, axis: drawAxis } = shown;
    const parts = panels.map((panel) => ({ panel, strips: strips[panel.key] ?? [], ...makeRow(panel) }));
    rows.replaceChildren(...parts.flatMap((part) => [part.row, ...part.strips.map((strip) => strip.root)]));
    const plotted = over.clientWidth;
    drawOver(over, shown, plotted);
    drawAxis(axis, plotted);
    for (const [at, part] of parts.entries()) {
      const scale = scaleOf(part.panel);
      if (hasPoints(part.panel)) void drawPanel(plotly, part.canvas, part.panel, scale, shown, plotted);
      nameEnds(part.rail, part.panel, scale);
      for (const strip of part.strips) strip.draw(from, to, plotted);
      if (at === 0) performance.mark("first panel drawn");
      const next = parts[at + 1];
      if (next && next.row.getBoundingClientRect().top >= innerHeight) sayInSight();
      if (root.dataset.drawn) continue;
      await new Promise((resume) => setTimeout(resume)); // what is in sight stands before the rest is drawn
      if (mine !== painting) return;
    }
    sayInSight();
    setAttributes(hand, { "aria-valuetext": shown.at(from) });
    performance.mark("panels drawn");
    root.dataset.drawn = "yes";
  }

  function sayInSight() {
    if (root.dataset.insight) return;
    performance.mark("panels in sight");
    root.dataset.insight = "yes";
  }

  function point() {
    if (!shown) return;
    const x = shown.from + (Number(hand.value) / STEPS) * (shown.to - shown.from);
    const said = readAt(shown, x);
    reading.replaceChildren(make("b", {}, shown.at(x)), ...said.map((each) => make("span", {}, each)));
    setAttributes(hand, { "aria-valuetext": [shown.at(x), ...said].join(", ") });
    moveCursor(over, (Number(hand.value) / STEPS) * over.clientWidth);
  }

  hand.addEventListener("input", point);
  hand.addEventListener("focus", point);
  hand.addEventListener("pointermove", (event) => {
    if (event.pointerType !== "mouse") return;
    const { left, width: wide } = hand.getBoundingClientRect();
    hand.value = String(((event.clientX - left) / wide) * STEPS);
    point();
  });
  new ResizeObserver(() => rows.clientWidth !== width && void paint()).observe(rows);

  return {
    root,
    /** @param {Picture} picture */
    show(picture) {
      shown = picture;
      course.setAttribute("aria-label", picture.label);
      course.setAttribute("role", "group");
      void paint();
    },
    paint: () => void paint(),
  };
}

/** @param {Panel} panel */
function makeRow({ title, lines, height_px }) {
  const canvas = make("div", { class: "canvas", "aria-hidden": "true" });
  canvas.style.height = `${height_px}px`;
  const keys = make("ul", { class: "keys" }, ...lines.map((line) => make("li", {}, sample(line), line.name)));
  const rail = make("div", { class: "ends", "aria-hidden": "true" });
  const none = hasPoints({ lines }) ? [] : [make("p", { class: "nothing" }, say("panel.nothing"))];
  const row = make("div", { class: "panel" }, make("h3", {}, title), keys, make("div", { class: "drawn" }, canvas, rail, ...none));
  return { row, canvas, rail };
}

/** @param {Pick<Panel, "lines">} panel */
function hasPoints({ lines }) {
  return lines.some(({ path }) => path.x.length > 0);
}

/** A sample of a line, or of its points. @param {Line} line */
function sample({ tone, dash, dots }) {
  if (!dots) {
    const found = makeDash();
    strokeDash(found, { tone, dash });
    return found;
  }
  const svg = makeSvg("svg", { class: "dash", width: 22, height: 8, viewBox: "0 0 22 8", "aria-hidden": "true", "data-tone": tone });
  svg.append(makeSvg("circle", { cx: 11, cy: 4, r: 3.5 }));
  return svg;
}

/** Each line's name at the height where it ends. @param {HTMLElement} rail @param {Panel} panel @param {import("../now/scale.js").Scale} scale */
function nameEnds(rail, { lines, height_px }, scale) {
  const there = lines.filter(({ path }) => path.y.some((y) => y !== null));
  const wishes = there.map(({ path }) => ({ at: (1 - heightOf(scale, path.y.findLast((y) => y !== null) ?? scale.low)) * height_px, size: NAME_PX }));
  const starts = spread(wishes, 0, Math.max(height_px, there.length * NAME_PX));
  rail.replaceChildren(...there.map((line, index) => {
    const name = make("p", {}, sample(line), make("span", { title: line.name }, line.name));
    name.style.top = `${starts[index] ?? 0}px`;
    return name;
  }));
}

/** Marks and stretches without readings, through all panels. @param {HTMLElement} over @param {Picture} picture @param {number} width */
function drawOver(over, { from, to, marks, hatched }, width) {
  const x = (/** @type {number} */ at) => ((at - from) / (to - from)) * width;
  const silent = hatched.filter((one) => one.to > from && one.from < to).map((one) => {
    const size = Math.max(2, x(Math.min(to, one.to)) - x(Math.max(from, one.from)));
    const element = make("div", { class: "hatched" }, ...(size > one.text.length * 7 + 12 ? [make("span", {}, one.text)] : []));
    element.style.left = `${x(Math.max(from, one.from))}px`;
    element.style.width = `${size}px`;
    return element;
  });
  const there = marks.map((mark) => ({ ...mark, x: x(mark.x) })).filter((mark) => mark.x >= 0 && mark.x <= width);
  const lines = labelled(there, width, ROWS).map(({ x: at, left, row, text, title, kind }) => {
    const name = make("span", { title, hidden: row === null }, text);
    name.style.left = `${left - at}px`;
    const element = make("div", { class: "through", "data-row": row, "data-kind": kind === "note" ? "aside" : "cut" }, name);
    element.style.left = `${at}px`;
    return element;
  });
  over.replaceChildren(...silent, ...lines, make("div", { class: "now", hidden: true }));
}

/** @param {HTMLElement} over @param {number} x */
function moveCursor(over, x) {
  const cursor = over.querySelector(".now");
  if (!(cursor instanceof HTMLElement)) return;
  cursor.hidden = false;
  cursor.style.left = `${x}px`;
}

/** Every line at a place of the axis, where it has something near it; then the nearest mark, and what was called and noted. @param {Pick<Picture, "panels" | "marks" | "told" | "from" | "to">} picture @param {number} x */
export function readAt({ panels, marks, told, from, to }, x) {
  const reach = (to - from) * REACH;
  const read = panels.flatMap(({ lines, decimals }) => lines.flatMap(({ name, path }) => {
    const y = nearestOf(path, x, reach);
    return y === null ? [] : [`${name} ${y.toFixed(decimals)}`];
  }));
  const marked = marks.map((mark) => ({ from: mark.x, to: mark.x, text: mark.title }));
  return [...read, ...[marked, ...told].flatMap((kind) => nearestTold(kind, x, reach))];
}

/** @param {readonly Told[]} told @param {number} x @param {number} reach @returns {string[]} */
function nearestTold(told, x, reach) {
  const [nearest] = told.map(({ from, to, text }) => ({ away: Math.max(from - x, x - to, 0), since: x - from, text }))
    .filter(({ away }) => away <= reach)
    .sort((a, b) => a.away - b.away || a.since - b.since); // of two that stand, the one that came last
  return nearest ? [nearest.text] : [];
}

/** @param {import("../now/polyline.js").Path} path @param {number} x @param {number} reach */
function nearestOf({ x: xs, y: ys }, x, reach) {
  let [best, least] = [/** @type {number | null} */ (null), reach];
  xs.forEach((at, index) => {
    if (at === null || Math.abs(at - x) > least) return;
    [best, least] = [ys[index] ?? null, Math.abs(at - x)];
  });
  return best;
}

/** A text of the axis in its place, left out where it would touch its neighbour or run out. @param {HTMLElement} root @param {readonly {at: number, text: string}[]} ticks */
export function writeAxis(root, ticks) {
  root.replaceChildren(make("div", { class: "times" }, ...ticks.map(({ at, text }) => {
    const span = make("span");
    setText(span, text);
    span.style.left = `${at}px`;
    return span;
  })));
}
