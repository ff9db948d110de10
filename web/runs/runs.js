// The runs of the record: found by words and dates, sorted by any of their numbers, ticked to be
// laid over each other.

import "../shared/texts.js";
import "../run/texts.js";
import "./texts.js";
import { get, Refusal, send } from "../shared/api.js";
import { wholeTime } from "../shared/clock.js";
import { find, keepList, make, setAttributes, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { startPage, woven } from "../shared/page.js";
import { followRecord } from "../record/follow.js";
import { parts, say } from "../texts.js";
import { DASH, keyed, saidToTheMinute } from "../run/format.js";
import { makeFilters } from "./filters.js";
import { makeImporting } from "./importing.js";

const PAGE = 50;
const MOST = 4;
/** What of a run stands in the list; the rest stands on its page. */
const SHOWN = ["duration_min", "charge_volume_l", "collected_pure_alcohol_l", "recovered", "hearts_volume_l", "hearts_abv", "energy_kwh_per_l", "alarms"];
const STRONG = new Set(["collected_pure_alcohol_l", "recovered", "hearts_volume_l", "hearts_abv", "energy_kwh_per_l"]);

/** @typedef {import("../shared/page.js").Ground} Ground */
/** @typedef {{found: ReviewedRuns, references: ReferenceRecord[], vessels: VesselRecord[]}} Loaded */

const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" }, say("runs.rests"));
const links = make("p", { class: "others" }, make("a", { class: "quiet", href: "trends.html" }, say("runs.to.trends")), make("a", { class: "quiet", href: "batches.html" }, say("runs.to.batches")));
const trouble = make("p", { class: "trouble", role: "alert" });
const list = make("ul", { class: "found", "aria-label": say("runs.list") });
const more = pressFor(say("runs.more"), () => {
  limit += PAGE;
  refresh();
});
const key = make("p", { class: "hint" }, say("runs.expected"));
const lay = make("div", { class: "lay", role: "status", hidden: true });
const references = make("section", { class: "part", hidden: true });
const filters = makeFilters(() => {
  limit = PAGE;
  refresh();
});
find(document, "#main").append(make("section", { class: "home" }, says, rests, links, filters.root, trouble, list, more, key, references, makeImporting().root), lay);

let limit = PAGE;
/** @type {Map<string, ReviewedRow>} */
const ticked = new Map();

/** @returns {Promise<Loaded>} */
async function load() {
  const [site, references, vessels] = await Promise.all([get("site"), get("reviews/references"), get("vessels")]);
  try {
    const found = await get("reviews/runs", { ...filters.query(site.time_zone), limit });
    trouble.textContent = "";
    return { found, references, vessels };
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    trouble.textContent = error.message;
    return { found: { total: 0, keys: [], runs: [] }, references, vessels };
  }
}

/** @param {Loaded} loaded @param {Ground} ground */
function show({ found, references: pinned, vessels }, ground) {
  filters.offer(vessels, found.keys);
  const { total } = found;
  const words = filters.active() ? (total === 0 ? "runs.says.nofit" : "runs.says.found") : total === 0 ? "runs.says.none" : total === 1 ? "runs.says.one" : "runs.says";
  says.replaceChildren(...woven(parts(words, { count: total })));
  more.hidden = found.runs.length >= total;
  key.hidden = !found.runs.some(({ is_expected }) => is_expected);
  const keys = SHOWN.flatMap((name) => found.keys.filter((each) => each.name === name));
  const held = new Set(pinned.map(({ run_id }) => run_id));
  keepList(list, found.runs, ({ id }) => id, (run) => makeRow(run), (item, run) => fillRow(item, run, keys, held.has(run.id), ground));
  drawLay();
  drawReferences(pinned, ground);
}

/** @param {ReviewedRow} run */
function nameOf({ batch, purpose_name }) {
  return say("runs.run", { batch, purpose: purpose_name });
}

/** @param {ReviewedRow} run */
function makeRow(run) {
  const tick = make("input", { type: "checkbox", id: `pick-${run.id}` });
  tick.addEventListener("change", () => pick(run, tick));
  return make("li", {},
    make("label", { class: "pick" }, tick, make("span", { class: "unseen" })),
    make("div", { class: "whole" }, make("p", { class: "which" }, make("a", { href: `run.html?id=${run.id}` }), " ", make("span", { class: "pinned", hidden: true }, say("runs.reference.short"))), make("p", { class: "place" }), make("dl", { class: "figures" })));
}

/** @param {Element} item @param {ReviewedRow} run @param {readonly ReviewKey[]} keys @param {boolean} isReference @param {Ground} ground */
function fillRow(item, run, keys, isReference, { zone }) {
  const at = Date.parse(run.started_at);
  setText(find(item, ".pick .unseen"), say("runs.pick.this", { run: nameOf(run) }));
  setText(find(item, ".which a"), nameOf(run));
  find(item, ".pinned").hidden = !isReference;
  setText(find(item, ".place"), [run.vessel ?? say("run.novessel"), saidToTheMinute(at, Date.now(), zone), run.is_on ? say("runs.on") : ""].filter(Boolean).join(" · "));
  setAttributes(find(item, ".place"), { title: wholeTime(at, zone) });
  keepList(find(item, ".figures"), keys, ({ name }) => name, () => make("div", {}, make("dt"), make("dd")), (element, one) => {
    const text = keyed(one, run.numbers[one.name]);
    setText(find(element, "dt"), one.label);
    setText(find(element, "dd"), run.is_expected && STRONG.has(one.name) && text !== DASH ? `≈ ${text}` : text);
    setAttributes(element, { class: text === DASH ? "unknown" : null });
  });
}

/** @param {ReviewedRow} run @param {HTMLInputElement} tick */
function pick(run, tick) {
  if (!tick.checked) ticked.delete(run.id);
  else if (ticked.size < MOST) ticked.set(run.id, run);
  else tick.checked = false;
  drawLay(tick.checked === false && ticked.size === MOST);
}

/** @param {boolean} [full] another was wanted */
function drawLay(full = false) {
  lay.hidden = ticked.size === 0;
  const query = [...ticked.keys()].map((id) => `run=${id}`).join("&");
  const press = ticked.size > 1 ? make("a", { class: "press main", href: `compare.html?${query}` }, say("runs.lay", { count: ticked.size })) : make("span", {}, say("runs.lay.one"));
  lay.replaceChildren(press, ...(full ? [make("span", {}, say("runs.full"))] : []));
}

/** @param {readonly ReferenceRecord[]} pinned @param {Ground} ground */
function drawReferences(pinned, { zone }) {
  references.hidden = pinned.length === 0;
  references.replaceChildren(make("h2", {}, say("runs.references")), make("p", { class: "hint" }, say("runs.references.rests")),
    make("ul", { class: "lots" }, ...pinned.map((one) => {
      const run = one.run;
      const named = run ? make("a", { href: `run.html?id=${run.id}` }, `${nameOf(run)}, ${saidToTheMinute(Date.parse(run.started_at), Date.now(), zone)}`) : say("runs.reference.gone");
      return make("li", {}, make("span", {}, say("runs.reference", { purpose: say(`purpose.${one.purpose}`), vessel: one.vessel ?? say("run.novessel") })), make("span", {}, named, " ", pressFor(say("run.unpin"), () => void unpin(one), "quiet")));
    })));
}

/** @param {ReferenceRecord} one */
async function unpin({ id, version }) {
  try {
    await send("DELETE", `reviews/references/${id}`, { version });
  } catch (error) {
    trouble.textContent = error instanceof Refusal ? error.message : say("entry.silent");
  }
  refresh();
}

const refresh = startPage("runs", load, show);
followRecord(refresh);
