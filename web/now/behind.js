// The run that was pinned as the reference, drawn faintly behind the lines of the one that is on,
// at that one's own times.

import { get } from "../shared/api.js";
import { day } from "../shared/clock.js";
import { find, make, on } from "../shared/dom.js";
import { say } from "../texts.js";

const PAUSE_MS = 1500; // marks come in flocks
const BUCKETS = 500;

/** A line of the reference, by the place it was read at. @typedef {{key: string, trace: Trace}} Behind */

/**
 * @param {object} house
 * @param {HTMLElement} house.record hears when the record has changed
 * @param {HTMLElement} house.sheet
 * @param {(lines: readonly Behind[]) => void} house.draw
 * @param {() => string} house.zone
 * @param {Promise<{runs: RunSummary[]} | null>} house.first what stands, asked for already
 */
export async function mountBehind({ record, sheet, draw, zone, first }) {
  const says = make("p", { class: "behindsays", hidden: true });
  find(sheet, ".plot").append(says);
  let timer = 0;

  /** @param {typeof first | null} [asked] */
  async function load(asked = null) {
    timer = 0;
    try {
      const { runs } = /** @type {{runs: RunSummary[]}} */ ((await asked) ?? (await get("record/now")));
      const on_now = runs.filter(({ ended_at }) => ended_at === null);
      /** @type {ReferenceBehind[]} */
      const found = await Promise.all(on_now.map(({ id }) => get(`reviews/references/for/${id}`, { buckets: BUCKETS })));
      const there = found.filter(({ reference, lines }) => reference?.run && lines.length > 0);
      draw(there.flatMap(({ lines }) => lines.flatMap(lineOf)));
      tellWhose(says, there, zone());
    } catch (error) {
      console.info("the reference run does not load; it is asked for again when the record changes", error);
    }
  }

  on(record, "record", () => {
    timer ||= window.setTimeout(() => void load(), PAUSE_MS);
  });
  await load(first);
}

/** @param {AlignedLine} line @returns {Behind[]} */
function lineOf({ place_id, place, quantity, segments }) {
  if (place_id === null || quantity !== "temperature_c") return [];
  return [{ key: place_id, trace: { key: place_id, probe_id: null, vessel: null, place, quantity, segments: segments.map(({ x0, dx, ...rest }) => ({ t0_ms: x0, dt_ms: dx, ...rest })) } }];
}

/** @param {HTMLElement} root @param {readonly ReferenceBehind[]} there @param {string} zone */
function tellWhose(root, there, zone) {
  root.hidden = there.length === 0;
  root.replaceChildren(...there.flatMap(({ reference, aligned_by }) => {
    const run = reference?.run;
    if (!run) return [];
    const name = say("behind.run", { batch: run.batch, day: day(Date.parse(run.started_at), zone) });
    return [make("span", {}, say("behind.faint"), " ", make("a", { href: `run.html?id=${run.id}` }, name), ", ", say(`behind.by.${aligned_by ?? "begin"}`))];
  }));
}
