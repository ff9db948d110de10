// What the service refused, opened on the live page with all that was entered.

import { make } from "../shared/dom.js";
import { say } from "../texts.js";
import { makeMarkForm } from "./mark_form.js";
import { stripFor } from "./measuring.js";

/** @typedef {import("../shared/queue.js").Waiting} Waiting */
/** @typedef {ReturnType<typeof stripFor>} Strip */

/**
 * @param {Waiting} entry
 * @param {NowRun} run whose it is; one that is over says nothing of now
 * @param {object} how
 * @param {"C" | "F"} how.unit
 * @param {string} how.zone
 * @param {() => number} how.latest
 * @param {(body: Record<string, any>) => void} how.keep
 * @param {() => void} how.leave
 * @returns {{root: HTMLElement, strip: Strip | null}}
 */
export function openToMend(entry, run, { unit, zone, latest, keep, leave }) {
  if (entry.kind === "mark") {
    const start = { ...run.marks.find(({ id }) => id === entry.subject), ...entry.body };
    return { root: makeMarkForm({ start: /** @type {any} */ (start), known: true, zone, latest, offered: [], place: keep, leave, remove: null }), strip: null };
  }
  const jar = run.jars.find(({ id }) => id === entry.subject);
  if (!jar) return { root: sentence(say("waiting.nojar")), strip: null };
  const strip = stripFor(run, { ...jar, ...entry.body, id: jar.id }, { unit, offers: false, keep, leave });
  return { root: strip.root, strip };
}

/** @param {string} text */
export function sentence(text) {
  return make("p", { class: "trouble", role: "alert" }, text);
}
