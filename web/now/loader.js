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
 */

/** @param {House} house */
export function makeLoader(house) {
  /** @type {{want: import("./view.js").Want, stop: AbortController} | null} */
  let under_way = null;
  let timer = 0;

  /** See whether what is loaded still serves; if not, load, after a short pause. */
  function consider() {
    const { live, history, view } = house.state();
    if (!live || house.pixels() === 0) return;
    const now_ms = edgeOf(house.state());
    const fits = (/** @type {import("./view.js").Want} */ want) => serves(want, view, house.pixels(), now_ms);
    if (under_way ? fits(under_way.want) : history && fits(history.want)) return;
    if (timer) return;
    timer = window.setTimeout(load, history ? PAUSE_MS : 0);
  }

  async function load() {
    timer = 0;
    if (house.pixels() === 0) return;
    const { view } = house.state();
    const want = wanted(view, house.pixels(), edgeOf(house.state()));
    under_way?.stop.abort();
    const stop = new AbortController();
    under_way = { want, stop };
    try {
      const history = await fetchHistory(want, stop.signal);
      under_way = null;
      house.happen({ name: "history", history });
    } catch (error) {
      if (stop.signal.aborted) return;
      under_way = null;
      const sentence = error instanceof Refusal ? say("sheet.problem", { sentence: error.message }) : say("sheet.noanswer");
      house.happen({ name: "problem", sentence });
      timer = window.setTimeout(load, RETRY_MS);
    }
  }

  /** Load what is shown afresh: something before now may have changed. */
  function reload() {
    clearTimeout(timer);
    void load();
    void loadRecent();
  }

  async function loadRecent() {
    const to_ms = edgeOf(house.state());
    const want = { from_ms: Math.floor(to_ms - RECENT_MS), to_ms: Math.ceil(to_ms), bucket_ms: RECENT_BUCKET_MS };
    try {
      house.happen({ name: "recent", history: await fetchHistory(want) });
    } catch (error) {
      console.info("the last hours did not load; the sentence goes without since when", error);
    }
  }

  /** Keep the last hours from growing for ever. */
  function considerRecent() {
    const { recent } = house.state();
    if (recent && recent.want.to_ms - recent.want.from_ms > 1.5 * RECENT_MS) void loadRecent();
  }

  return { consider, considerRecent, reload };
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
