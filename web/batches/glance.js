// A batch from bill to bottle at a glance: a card for each stage with the numbers that came of it,
// its runs, and the batches it was begun from and that were begun from it.

import { make } from "../shared/dom.js";
import { keyed } from "../run/format.js";
import { say } from "../texts.js";

/** @typedef {(at: string) => string} Told */

/** @param {BatchStory} story @param {Told} time */
export function drawGlance({ stages, runs, follows, followed_by, gaps }, time) {
  return make("section", { class: "glance" },
    ...(follows ? [make("p", { class: "learned" }, say("glance.follows"), " ", make("a", { href: `batches.html?id=${follows.batch_id}` }, follows.name), follows.learned ? `: ${follows.learned}` : ".")] : []),
    stages.length === 0 ? make("p", { class: "hint" }, say("glance.none")) : make("ol", { class: "stages" }, ...stages.map((stage) => card(stage, runs, time))),
    ...followed_by.map((one) => make("p", { class: "learned" }, say("glance.followed"), " ", make("a", { href: `batches.html?id=${one.batch_id}` }, one.name), one.learned ? `: ${one.learned}` : ".")),
    ...(gaps.length > 0 ? [make("ul", { class: "notknown" }, ...gaps.map(({ why }) => make("li", { class: "hint" }, why)))] : []));
}

/** @param {BatchStory["stages"][number]} stage @param {readonly ReviewedRow[]} runs @param {Told} time */
function card({ key, name, from_at, to_at, vessels, figures, says }, runs, time) {
  const when = from_at ? say(to_at ? "glance.span" : "glance.since", { from: time(from_at), to: to_at ? time(to_at) : "" }) : "";
  return make("li", {},
    make("h3", {}, name),
    make("p", { class: "came" }, [when, vessels.join(", ")].filter(Boolean).join(" · ")),
    make("dl", {}, ...figures.map((one) => make("div", {}, make("dt", {}, one.label), make("dd", {}, keyed(one, one.value))))),
    ...says.map((each) => make("p", { class: "hint" }, each)),
    ...(key === "distil" ? runs.map((run) => make("p", {}, make("a", { href: `run.html?id=${run.id}` }, say("glance.run", { purpose: run.purpose_name, time: time(run.started_at) })))) : []));
}
