// The sheet of time: lines, axis, labels and what a hand does on it.

import { ask, find, make, on, setAttributes, setText } from "../shared/dom.js";
import { saidTime } from "../shared/clock.js";
import { say } from "../texts.js";
import { mountAxis, mountMarks } from "./axis.js";
import { mountCursor } from "./cursor.js";
import { drawing } from "./drawing.js";
import { mountGestures } from "./gestures.js";
import { draw, slide } from "./plot.js";
import { mountRail } from "./rail.js";
import { heightOf } from "./scale.js";
import { spanOf } from "./view.js";

const SETTLE_MS = 140; // after the last move of a hand, before the sheet is drawn afresh

/** What the page tells the sheet. @typedef {{state: import("./reduce.js").State, unit: import("../shared/units.js").Unit, zone: string}} Told */

/** What stands on the canvas, and what it was drawn from. @typedef {{key: string, view: import("./view.js").View, loaded: number}} Painted */

/**
 * @param {HTMLElement} root
 * @param {Promise<Plotly | null>} library
 */
export function mountSheet(root, library) {
  root.append(...skeleton());
  const sheet = new Sheet(root);
  on(root, "state", (/** @type {Told} */ told) => sheet.tell(told));
  on(root, "point", (/** @type {{at: number | null}} */ { at }) => sheet.point(at));
  new ResizeObserver(() => sheet.again()).observe(sheet.plot);
  document.addEventListener("look", () => sheet.again());
  library.then((loaded) => sheet.take(loaded));
  return sheet;
}

class Sheet {
  /** @type {Told | null} */
  told = null;
  /** @type {import("./drawing.js").Drawing | null} */
  drawn = null;
  /** @type {Painted} */
  painted = { key: "", view: { following: true, from_ms: 0, to_ms: 1 }, loaded: 0 };
  /** @type {Plotly | null} */
  plotly = null;
  /** @type {number | null} */
  pointed = null;
  moved_at = -Infinity;
  /** The reference run's lines. @type {readonly import("./behind.js").Behind[]} */
  behind = [];
  frame = 0;
  settling = 0;

  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.plot = find(root, ".plot");
    this.canvas = find(root, ".canvas");
    this.hand = find(root, ".hand");
    this.showTimes = mountAxis(find(root, ".axis"));
    this.showMarks = mountMarks(find(root, ".marks"));
    this.showLabels = mountRail(find(root, ".rail"));
    this.showCursor = mountCursor(find(root, ".cursor"));
    mountGestures(this.hand);
  }

  /** The plot's width in pixels. */
  pixels() {
    return this.canvas.clientWidth;
  }

  /** @param {Told} told */
  tell(told) {
    const { view } = told.state;
    if (this.told && view !== this.told.state.view && !view.following) this.moved_at = performance.now();
    this.told = told;
    this.again();
  }

  /** Somebody looks at a place of the sheet, or (null) no longer. @param {number | null} at */
  point(at) {
    this.pointed = at;
    this.again();
  }

  /** What stands faintly behind the lines. @param {readonly import("./behind.js").Behind[]} lines */
  putBehind(lines) {
    if (lines.length === 0 && this.behind.length === 0) return;
    this.behind = lines;
    this.painted.key = this.painted.key && "behind";
    this.again();
  }

  /** The chart library has come, or (null) will not. @param {Plotly | null} plotly */
  take(plotly) {
    this.plotly = plotly;
    if (plotly) this.again();
    else ask(this.root, "form", { form: "table" });
  }

  /** Paint with the next frame. */
  again() {
    this.frame ||= requestAnimationFrame(() => this.paint());
  }

  paint() {
    this.frame = 0;
    if (!this.told) return;
    const moving = performance.now() - this.moved_at < SETTLE_MS;
    const loaded = this.told.state.history?.want.from_ms ?? 0;
    if (moving && this.drawn && loaded === this.painted.loaded) this.slideOver(this.told, this.drawn);
    else this.drawAll(this.told);
  }

  /**
   * While a hand moves: shift what is there; times and marks follow at once.
   * @param {Told} told
   * @param {import("./drawing.js").Drawing} drawn
   */
  slideOver({ state, zone }, drawn) {
    const width = this.pixels();
    slide(this.canvas, this.painted.view, state.view, width);
    this.showMarks(this.showTimes(state.view, zone, width), drawn.silences, state.view, width);
    this.showCursor(null, { drawn, zone, width });
    clearTimeout(this.settling);
    this.settling = window.setTimeout(() => this.again(), SETTLE_MS);
  }

  /** @param {Told} told */
  drawAll({ state, unit, zone }) {
    const [width, height] = [this.pixels(), this.canvas.clientHeight];
    if (width === 0 || height === 0) return;
    const drawn = drawing(state, unit, height);
    this.drawn = drawn;
    this.sayWhatIsMissing(drawn, state);
    this.drawLines(drawn, state, unit, { width, height });
    this.showMarks(this.showTimes(drawn.view, zone, width), drawn.silences, drawn.view, width);
    this.showLabels({ state, unit, zone, drawn, top: this.canvas.offsetTop, height });
    this.showCursor(this.pointed, { drawn, zone, width });
    describe(this.hand, state, zone, drawn.lines.length);
  }

  /** @param {import("./drawing.js").Drawing} drawn @param {import("./reduce.js").State} state */
  sayWhatIsMissing({ lines }, { history }) {
    const none = find(this.plot, ".none");
    none.hidden = lines.some(({ knots }) => knots.length > 0);
    setText(none, say(history ? "sheet.empty" : "sheet.loading"));
  }

  sayFirst() {
    performance.mark("first chart");
    ask(this.root, "drawn");
  }

  /**
   * The costly part: left out while nothing has changed that a pixel could show, and before there
   * is a history, because the first drawing costs most.
   * @param {import("./drawing.js").Drawing} drawn
   * @param {import("./reduce.js").State} state
   * @param {import("../shared/units.js").Unit} unit
   * @param {import("./plot.js").Size} size
   */
  drawLines(drawn, state, unit, size) {
    if (!this.plotly || !state.history || !state.live) return;
    const { view } = drawn;
    const key = sameness(drawn, state, size, unit);
    const moved = (view.to_ms - this.painted.view.to_ms) / (spanOf(view) / size.width);
    if (key !== this.painted.key || Math.abs(moved) >= 0.5) {
      draw(this.plotly, this.canvas, drawn, size, unit, this.behind);
      if (this.painted.key === "") this.sayFirst();
      this.painted = { key, view, loaded: state.history.want.from_ms };
    }
    slide(this.canvas, this.painted.view, view, size.width);
  }
}

/**
 * What a drawing depends on besides the passing of time: all that could show in it, the lines'
 * newest ends to the pixel.
 * @param {import("./drawing.js").Drawing} drawn
 * @param {import("./reduce.js").State} state
 * @param {import("./plot.js").Size} size
 * @param {string} unit
 */
function sameness({ view, scale, lines }, { history, alone }, size, unit) {
  const pixel = (/** @type {number} */ value) => Math.round(heightOf(scale, value) * size.height);
  const ends = lines.map(({ line, knots }) => {
    const last = knots.at(-1);
    return last ? `${line.key} ${pixel(last.low)} ${pixel(last.high)}` : line.key;
  });
  const edge = view.following ? "" : view.from_ms;
  const { theme } = document.documentElement.dataset;
  const { from_ms, bucket_ms } = history?.want ?? {};
  return [unit, theme, size.width, size.height, spanOf(view), edge, scale.low, scale.high, alone, from_ms, bucket_ms, ...ends].join(" ");
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
