// Strengths on the sheet of time: a calm band of their own under the temperatures, from 0 at the
// foot of the sheet to 100 % at its head. Asked for by a press, and remembered.

import { get } from "../shared/api.js";
import { spread } from "../now/spread.js";
import { keepList, make, makeSvg, setAttributes, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { outline, points, within } from "./band_path.js";

const KEY = "wormtub.strengths";
const SHOWN = { still: ["vapour_abv", "pot_abv", "spout_abv"], ferment: ["fermented_percent"], mash: [] };
const PAUSE_MS = 250;
const MOST = 300;
const NAME_PX = 16;

/** @typedef {import("../now/sheet.js").Told} Told */
/** @typedef {{key: string, vessel_id: string, quantity: string, points: import("./band_path.js").Point[]}} Band */

/** @param {HTMLElement} sheet @param {HTMLButtonElement} button */
export function mountBands(sheet, button) {
  return new Bands(sheet, button);
}

class Bands {
  /** @type {Told | null} */
  told = null;
  /** @type {readonly Band[]} */
  bands = [];
  /** What was loaded last. */
  loaded = { key: "", from_ms: 0, to_ms: 0 };
  timer = 0;
  /** @type {readonly VesselEstimates[]} */
  vessels = [];

  /** @param {HTMLElement} sheet @param {HTMLButtonElement} button */
  constructor(sheet, button) {
    this.svg = makeSvg("svg", { class: "strengths", "aria-hidden": "true", preserveAspectRatio: "none" });
    this.names = make("div", { class: "strength-names", "aria-hidden": "true", hidden: true });
    sheet.querySelector(".plot .hand")?.before(this.svg, this.names);
    this.button = button;
    this.on = remembered();
    button.addEventListener("click", () => this.turn());
  }

  turn() {
    this.on = !this.on;
    try {
      localStorage.setItem(KEY, this.on ? "on" : "");
    } catch {
      // Storage is shut: the choice lasts until the page is left.
    }
    if (this.told) this.tell(this.told, this.vessels);
  }

  /** @param {Told} told @param {readonly VesselEstimates[]} vessels those that are shown */
  tell(told, vessels) {
    [this.told, this.vessels] = [told, vessels];
    setAttributes(this.button, { "aria-pressed": String(this.on) });
    if (this.on) this.consider();
    this.draw();
  }

  /** @param {readonly VesselEstimates[]} restated */
  restate(restated) {
    for (const { vessel_id, at, estimates } of restated) {
      const news = new Map(estimates.map((one) => [one.quantity, one]));
      this.bands = this.bands.map((band) => {
        const one = band.vessel_id === vessel_id ? news.get(band.quantity) : undefined;
        return one ? { ...band, points: [...band.points, { at_ms: Date.parse(at), value: one.value, low: one.low, high: one.high }] } : band;
      });
    }
    this.draw();
  }

  /** Load where what is loaded does not reach, soon, but not at every step of a hand. */
  consider() {
    const { view } = /** @type {Told} */ (this.told).state;
    const key = this.wanted().map(({ key: own }) => own).join(" ");
    const reaches = key === this.loaded.key && view.from_ms >= this.loaded.from_ms && (view.following || view.to_ms <= this.loaded.to_ms);
    const sharp = (this.loaded.to_ms - this.loaded.from_ms) / (view.to_ms - view.from_ms) < 4;
    if (!reaches || !sharp) this.timer ||= window.setTimeout(() => void this.load(key), PAUSE_MS);
  }

  wanted() {
    return this.vessels.flatMap(({ vessel_id, kind }) => SHOWN[kind].map((quantity) => ({ key: `${vessel_id} ${quantity}`, vessel_id, quantity })));
  }

  /** @param {string} key */
  async load(key) {
    const { view } = /** @type {Told} */ (this.told).state;
    const span = view.to_ms - view.from_ms;
    const [from_ms, to_ms] = [Math.floor(view.from_ms - span / 2), Math.ceil(view.to_ms + span / 2)];
    this.loaded = { key, from_ms, to_ms };
    try {
      this.bands = await Promise.all(this.wanted().map(async (one) => {
        const { vessel_id, quantity } = one;
        const { runs } = await get("estimates/history", { vessel_id, quantity, from_ms, to_ms, most: MOST });
        return { ...one, points: points(runs) };
      }));
    } catch (error) {
      console.info("the strengths do not load; they are asked for with the next look", error);
      this.loaded = { key: "", from_ms: 0, to_ms: 0 };
    }
    this.timer = 0;
    this.draw();
  }

  draw() {
    const { told, svg, names } = this;
    const shown = this.on && told ? this.bands : [];
    svg.toggleAttribute("hidden", shown.length === 0);
    names.hidden = shown.length === 0;
    if (!told || shown.length === 0) return void svg.replaceChildren();
    const { view } = told.state;
    const size = { width: svg.clientWidth, height: svg.clientHeight };
    if (size.width === 0) return;
    const drawn = shown.map((band) => ({ ...band, points: within(band.points, view) }));
    keepList(svg, drawn, ({ key }) => key, () => makeSvg("g"), (group, one) => paint(group, one, view, size));
    const ends = drawn.flatMap((band) => {
      const last = band.points.findLast(({ value }) => value !== null)?.value ?? null;
      return last === null ? [] : [{ ...band, last }];
    });
    const starts = spread(ends.map(({ last }) => ({ at: (1 - last / 100) * size.height, size: NAME_PX })), 0, size.height);
    keepList(names, ends, ({ key }) => key, () => make("span"), (name, { quantity, last }, index) => {
      if (name instanceof HTMLElement) name.style.top = `${Math.round(starts[index] ?? 0)}px`;
      setAttributes(name, { "data-of": quantity });
      setText(name, say("est.chart.of", { name: say(`est.line.${quantity}`), value: Math.round(last) }));
    });
  }
}

/** @param {Element} group @param {Band} band @param {import("../now/view.js").View} view @param {{width: number, height: number}} size */
function paint(group, { quantity, points: own }, view, size) {
  if (group.childElementCount === 0) group.append(makeSvg("path", { class: "range" }), makeSvg("path", { class: "middle" }));
  const { range, middle } = outline(own, view, size);
  const [first, second] = group.children;
  setAttributes(group, { "data-of": quantity });
  if (first) setAttributes(first, { d: range });
  if (second) setAttributes(second, { d: middle });
}

function remembered() {
  try {
    return localStorage.getItem(KEY) === "on";
  } catch {
    return false;
  }
}
