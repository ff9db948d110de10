// What the temperatures mean, on the live page: a statement for each vessel that is occupied, and
// behind it what it rests on. It stands in room that was kept for it, so that nothing jumps.

import "./texts.js";
import { get } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { keepList, make, on, setAttributes, setText } from "../shared/dom.js";
import { say } from "../texts.js";
import { fillParts } from "../now/head.js";
import { keepRoom } from "../now/room.js";
import { mountBands } from "./bands.js";
import { makeDetails } from "./details.js";
import { stageName, statement } from "./statement.js";

const RETRY_MS = 5000;
const NARROW = matchMedia("(max-width: 719px)");
const ORDER = ["still", "mash", "ferment"];
const OLD_MS = 180_000; // three times as long as it may take to say it again

/** @typedef {import("../now/sheet.js").Told} Told */

/** `opened`: whether the line stands already. @param {{root: HTMLElement, sheet: HTMLElement, first: Promise<EstimatesMessage | null>, opened: boolean}} page */
export async function mountEstimates({ root, sheet, first, opened }) {
  const shown = new Estimates(root, sheet, opened);
  await shown.load(first);
  return shown;
}

class Estimates {
  /** @type {readonly VesselEstimates[]} */
  known = [];
  /** @type {Told | null} */
  told = null;
  retry = 0;

  /** @param {HTMLElement} root @param {HTMLElement} sheet @param {boolean} opened */
  constructor(root, sheet, opened) {
    this.root = root;
    this.opened = opened;
    this.list = make("ul");
    this.chart = make("button", { type: "button", class: "quiet onchart", hidden: true, "aria-label": say("est.chart.label") }, say("est.chart"));
    setAttributes(root, { role: "group", "aria-label": say("est.label") });
    root.append(this.list);
    sheet.querySelector(".plot")?.append(this.chart);
    this.details = makeDetails(root);
    this.bands = mountBands(sheet, this.chart);
    on(root, "state", (/** @type {Told} */ told) => this.tell(told));
    on(document, "estimates", (/** @type {EstimatesMessage} */ message) => this.restate(message));
    on(document, "line", (/** @type {string} */ phase) => phase === "open" && this.reopen());
  }

  /** What was said while the line was down is asked for; before it first stood, the page has asked. */
  reopen() {
    if (this.opened) void this.load();
    this.opened = true;
  }

  /** @param {Promise<EstimatesMessage | null> | null} [asked] asked for already */
  async load(asked = null) {
    clearTimeout(this.retry);
    try {
      /** @type {EstimatesMessage} */
      const { vessels } = (await asked) ?? (await get("estimates"));
      this.known = ordered(vessels);
      this.show();
    } catch (error) {
      console.info("the estimates do not load; trying again", error);
      this.retry = window.setTimeout(() => void this.load(), RETRY_MS);
    }
  }

  /** @param {EstimatesMessage} message */
  restate({ vessel_ids, vessels }) {
    const news = new Map(vessels.map((one) => [one.vessel_id, one]));
    const kept = this.known.filter(({ vessel_id }) => vessel_ids.includes(vessel_id) && !news.has(vessel_id));
    this.known = ordered([...kept, ...vessels]);
    this.details.restate(this.known);
    this.bands.restate(vessels);
    this.show();
  }

  /** @param {Told} told */
  tell(told) {
    this.told = told;
    this.show();
  }

  /** Of the vessel that is shown alone, or of all. */
  get there() {
    const vessel = this.told?.state.vessel;
    return this.known.filter((one) => vessel === undefined || one.vessel === vessel);
  }

  show() {
    const { told, there } = this;
    if (!told) return;
    this.root.hidden = this.known.length === 0;
    keepList(this.list, there, ({ vessel_id }) => vessel_id, (one) => this.makeOne(one), (item, one) => fill(item, one, told, NARROW.matches && one !== there[0]));
    this.chart.hidden = there.every(({ kind }) => kind === "mash");
    this.details.tell(told);
    this.bands.tell(told, there);
    keepRoom(this.root, this.list);
  }

  /** @param {VesselEstimates} one */
  makeOne({ vessel_id }) {
    const more = make("button", { type: "button", class: "more", "aria-haspopup": "dialog" }, say("est.rests"));
    const item = make("li", {}, make("span", { class: "whose" }), make("p", { class: "means" }, make("span"), " ", more));
    item.addEventListener("click", () => { // anywhere on it: a thumb need not aim
      const one = this.known.find((each) => each.vessel_id === vessel_id);
      if (one && this.told) this.details.open(one, this.told);
    });
    return item;
  }
}

/** @param {Element} item @param {VesselEstimates} one @param {Told} told @param {boolean} brief */
function fill(item, one, { state, unit, zone }, brief) {
  const [whose, means] = item.querySelectorAll("span");
  if (!whose || !means) return;
  const more = item.querySelector(".more");
  const at_ms = Date.parse(one.at);
  const old = state.now_ms - at_ms > OLD_MS;
  const asOf = old ? say("est.old", { time: saidTime(at_ms, state.now_ms, zone) }) : "";
  setText(whose, [one.vessel, stageName(one), asOf].filter(Boolean).join(" · "));
  const said = statement(one, unit, brief);
  fillParts(means, capital(said));
  if (more) setAttributes(more, { "aria-label": `${say("est.rests")}: ${one.vessel}, ${stageName(one)}` });
  item.classList.toggle("old", old);
}

/** What is hot comes first. @param {readonly VesselEstimates[]} vessels */
function ordered(vessels) {
  return [...vessels].sort((a, b) => ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind) || a.vessel.localeCompare(b.vessel));
}

/** @param {readonly import("../texts.js").Part[]} said */
function capital(said) {
  return said.map((part, index) => (index === 0 ? { ...part, text: part.text.charAt(0).toUpperCase() + part.text.slice(1) } : part));
}
