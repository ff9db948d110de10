// Loads history as the view moves: soon, but not at every step of a hand; what is shown stays
// until what comes after it is there.

import { get, Refusal } from "../shared/api.js";
import { say } from "../texts.js";
import { edgeOf } from "./health.js";
import { serves, wanted } from "./view.js";

const PAUSE_MS = 90;
const RETRY_MS = 3000;
const RECENT_MS = 6 * 3_600_000;
const RECENT_BUCKET_MS = 60_000;

/**
 * @typedef {object} House
 * @property {() => import("./reduce.js").State} state
 * @property {(event: import("./reduce.js").Happening) => void} happen
 * @property {() => number} pixels the plot's width
 * @property {Promise<unknown>} library what draws the lines, or null where it cannot come
 */

/** @param {House} house */
export function makeLoader(house) {
  return new Loader(house);
}

class Loader {
  /** @type {{want: import("./view.js").Want, stop: AbortController} | null} */
  under_way = null;
  recent_under_way = false;
  timer = 0;

  /** @param {House} house */
  constructor(house) {
    this.house = house;
  }

  /** At the very start, by this browser's clock: the live state is on its way at the same time. */
  async begin() {
    await this.load().catch(() => null); // a clock far from the service's; loaded again with its own
  }

  /** See whether what is loaded still serves; if not, load, after a short pause. */
  consider() {
    const { live, history } = this.house.state();
    if (!live || this.house.pixels() === 0) return;
    if (history) this.considerRecent();
    const fits = this.under_way ? this.fits(this.under_way.want) : history !== null && this.fits(history.want);
    if (!fits) this.timer ||= window.setTimeout(() => this.loadOrSay(), history ? PAUSE_MS : 0);
  }

  /** Load afresh: something before now may have changed. */
  reload() {
    clearTimeout(this.timer);
    void this.loadOrSay();
    void this.loadRecent();
  }

  /** @param {import("./view.js").Want} want */
  fits(want) {
    const state = this.house.state();
    return serves(want, state.view, this.house.pixels(), edgeOf(state));
  }

  async loadOrSay() {
    this.timer = 0;
    try {
      await this.load();
    } catch (error) {
      const sentence = error instanceof Refusal ? say("sheet.problem", { sentence: error.message }) : say("sheet.noanswer");
      this.house.happen({ name: "problem", sentence });
      this.timer ||= window.setTimeout(() => this.loadOrSay(), RETRY_MS);
    }
  }

  /** Load what the view wants now; an earlier request that has not ended is given up. */
  async load() {
    const state = this.house.state();
    if (this.house.pixels() === 0) return;
    const mine = { want: wanted(state.view, this.house.pixels(), edgeOf(state)), stop: new AbortController() };
    this.under_way?.stop.abort();
    this.under_way = mine;
    try {
      const history = await fetchHistory(mine.want, mine.stop.signal);
      if (this.under_way === mine) this.under_way = null;
      this.house.happen({ name: "history", history });
    } catch (error) {
      if (this.under_way === mine) this.under_way = null;
      if (!mine.stop.signal.aborted) throw error;
    }
  }

  /** The last hours, for "since when": once there is a chart, and again before they grow too long. */
  considerRecent() {
    const { recent } = this.house.state();
    if (recent && recent.want.to_ms - recent.want.from_ms <= 1.5 * RECENT_MS) return;
    if (!this.recent_under_way) void this.loadRecent();
  }

  async loadRecent() {
    this.recent_under_way = true;
    await this.house.library; // the first chart needs the machine for itself
    const to_ms = edgeOf(this.house.state());
    const want = { from_ms: Math.floor(to_ms - RECENT_MS), to_ms: Math.ceil(to_ms), bucket_ms: RECENT_BUCKET_MS };
    try {
      const history = await fetchHistory(want);
      this.recent_under_way = false;
      this.house.happen({ name: "recent", history });
    } catch (error) {
      console.info("the last hours did not load; the sentence goes without since when", error);
      setTimeout(() => (this.recent_under_way = false), RETRY_MS);
    }
  }
}

/**
 * @param {import("./view.js").Want} want
 * @param {AbortSignal} [signal]
 * @returns {Promise<import("./fold.js").History>}
 */
async function fetchHistory(want, signal) {
  const { from_ms, to_ms, bucket_ms } = want;
  const buckets = Math.max(2, Math.ceil((to_ms - from_ms) / bucket_ms));
  /** @type {HistoryMessage} */
  const { traces } = await get("history", { from_ms, to_ms, buckets }, signal);
  return { want, traces };
}
