// The next batch, begun from this one's plan, with what was learned.

import { get, send } from "../shared/api.js";
import { make } from "../shared/dom.js";
import { makeEntry } from "../shared/entry.js";
import { say } from "../texts.js";
import { drawMade } from "./plan.js";

/** @typedef {import("../shared/units.js").Unit} Unit */

/**
 * @param {object} given
 * @param {BatchView} given.batch
 * @param {string} given.zone
 * @param {Unit} given.unit
 * @param {() => void} given.cancel
 */
export async function nextForm({ batch, zone, unit, cancel }) {
  /** @type {BatchPlan} */
  const plan = await get(`reviews/batches/${batch.id}/plan`);
  return makeEntry({
    key: "next", zone, cancel, submit: say("next.begin"),
    lead: [make("h2", {}, say("next.title", { name: batch.name })), make("p", { class: "hint" }, say("next.says")), make("details", {}, make("summary", {}, say("next.plan")), drawMade(plan, unit))],
    fields: [
      { name: "name", label: say("batches.name"), value: "" },
      { name: "learned", label: say("next.learned"), kind: "long", blank: true, hint: say("next.learned.hint") },
      { name: "note", label: say("batches.note"), kind: "long", blank: true, more: true },
    ],
    act: async (values) => {
      /** @type {{batch_id: string}} */
      const begun = await send("POST", `reviews/batches/${batch.id}/next`, {}, values);
      location.assign(`batches.html?id=${begun.batch_id}`);
    },
  });
}
