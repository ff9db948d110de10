// The sheet of time: lines, axis, labels and what a hand does on it.

import { ask, find, make, on, setAttributes, setText } from "../shared/dom.js";
import { saidTime } from "../shared/clock.js";
import { unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { mountAxis, mountMarks } from "./axis.js";
import { mountCursor } from "./cursor.js";
import { drawing } from "./drawing.js";
import { mountGestures } from "./gestures.js";
import { draw, slide } from "./plot.js";
import { mountRail } from "./rail.js";
import { spanOf } from "./view.js";

const SETTLE_MS = 140; // after the last move of a hand, before the sheet is drawn afresh
const TOP = 22; // pixels above the plot, so that a label at the very top stands whole

/** What the page tells the sheet. @typedef {{state: import("./reduce.js").State, unit: import("../shared/units.js").Unit, zone: string}} Told */

/**
 * @param {HTMLElement} root
 * @param {Promise<Plotly | null>} library
 */
export function mountSheet(root, library) {
  root.append(...skeleton());
  const plot = find(root, ".plot");
  const canvas = find(root, ".canvas");
  const hand = find(root, ".hand");
  const parts = {
    axis: mountAxis(find(root, ".axis")),
    marks: mountMarks(find(root, ".marks")),
    rail: mountRail(find(root, ".rail")),
    cursor: mountCursor(find(root, ".cursor")),
  };
  mountGestures(hand);

  /** @type {Told | null} */
  let told = null;
  /** @type {import("./drawing.js").Drawing | null} */
  let drawn = null;
  /** @type {Plotly | null} */
  let plotly = null;
  /** @type {number | null} */
  let pointed = null;
  let moved_at = -Infinity;
  /** @type {{key: string, to_ms: number, view: import("./view.js").View}} */
  let painted = { key: "", to_ms: 0, view: { following: true, from_ms: 0, to_ms: 1 } };
  let frame = 0;
  let settle = 0;

  const size = () => ({ width: canvas.clientWidth, height: canvas.clientHeight });
  const again = () => {
    frame ||= requestAnimationFrame(paint);
  };

  function paint() {
    frame = 0;
    if (!told) return;
    const moving = performance.now() - moved_at < SETTLE_MS;
    if (moving && drawn) slideOver(told);
    else drawAll(told);
  }

  /** While a hand moves: shift what is there; time and marks follow at once. @param {Told} now */
  function slideOver({ state, zone }) {
    if (!drawn) return;
    const { width } = size();
    slide(canvas, painted.view, state.view, width);
    const days = parts.axis(state.view, zone, width);
    parts.marks(days, drawn.silences, state.view, width);
    parts.cursor(null, { drawn, zone, width });
    clearTimeout(settle);
    settle = window.setTimeout(again, SETTLE_MS);
  }

  /** @param {Told} now */
  function drawAll({ state, unit, zone }) {
    const { width, height } = size();
    if (width === 0 || height === 0) return;
    drawn = drawing(state, unit, height);
    const none = find(plot, ".none");
    none.hidden = drawn.lines.some(({ knots }) => knots.length > 0);
    setText(none, say(state.history ? "sheet.empty" : "sheet.loading"));
    drawLines(drawn, state, unit);
    const days = parts.axis(drawn.view, zone, width);
    parts.marks(days, drawn.silences, drawn.view, width);
    parts.rail({ state, unit, zone, drawn, top: TOP, height });
    parts.cursor(pointed, { drawn, zone, width });
    describe(hand, state, zone, drawn.lines.length);
    root.dispatchEvent(new CustomEvent("drawn"));
  }

  /**
   * The costly part: left out while nothing has changed that a pixel could show.
   * @param {import("./drawing.js").Drawing} now
   * @param {import("./reduce.js").State} state
   * @param {import("../shared/units.js").Unit} unit
   */
  function drawLines(now, state, unit) {
    if (!plotly || !state.history) return; // the first drawing costs most: not for an empty sheet
    const { width, height } = size();
    const key = sameness(now, state, `${unit} ${width} ${height} ${document.documentElement.dataset.theme}`);
    const pixel_ms = spanOf(now.view) / width;
    if (key === painted.key && now.view.to_ms - painted.to_ms < pixel_ms / 2) {
      slide(canvas, painted.view, now.view, width);
      return;
    }
    draw(plotly, canvas, now, { width, height }, unitSign(unit));
    if (painted.key === "") performance.mark("first chart");
    slide(canvas, now.view, now.view, width);
    painted = { key, to_ms: now.view.to_ms, view: now.view };
  }

  on(root, "state", (/** @type {Told} */ now) => {
    if (told && now.state.view !== told.state.view && !now.state.view.following) moved_at = performance.now();
    told = now;
    again();
  });
  on(hand, "point", (/** @type {{at: number | null}} */ { at }) => {
    pointed = at;
    again();
  });
  new ResizeObserver(again).observe(plot);
  document.addEventListener("look", again);
  library.then((loaded) => {
    plotly = loaded;
    if (plotly) again();
    else ask(root, "form", { form: "table" });
  });
  return { pixels: () => canvas.clientWidth, paint };
}

/**
 * What a drawing depends on besides the passing of time.
 * @param {import("./drawing.js").Drawing} drawn
 * @param {import("./reduce.js").State} state
 * @param {string} look
 */
function sameness({ view, scale, lines }, { history, alone }, look) {
  const keys = lines.map(({ line }) => line.key).join();
  const edge = view.following ? "" : view.from_ms;
  return [look, spanOf(view), edge, scale.low, scale.high, keys, alone, history?.want.from_ms, history?.want.bucket_ms].join(" ");
}

function skeleton() {
  const keys = make("p", { class: "unseen", id: "keys" }, say("sheet.keys"));
  const hand = make("div", {
    class: "hand", tabindex: 0, role: "application",
    "aria-roledescription": say("sheet.role"), "aria-describedby": "keys",
  });
  const plot = make("div", { class: "plot" },
    make("div", { class: "marks", "aria-hidden": "true" }),
    make("div", { class: "canvas", "aria-hidden": "true" }),
    make("div", { class: "cursor" }),
    make("p", { class: "none", hidden: true }),
    make("p", { class: "watermark" }, say("simulated.flag")),
    hand,
  );
  return [plot, make("div", { class: "rail" }), make("div", { class: "axis", "aria-hidden": "true" }), keys];
}

/**
 * @param {HTMLElement} hand
 * @param {import("./reduce.js").State} state
 * @param {string} zone
 * @param {number} count
 */
function describe(hand, { view, now_ms }, zone, count) {
  const [from, to] = [saidTime(view.from_ms, now_ms, zone), saidTime(view.to_ms, now_ms, zone)];
  setAttributes(hand, {
    "aria-label": say("sheet.chart", { count, from, to }),
    "data-from": Math.round(view.from_ms), "data-span": Math.round(spanOf(view)), "data-following": String(view.following),
  });
}
