// A run looked back on: the facts in sentences, the whole on one axis of time, and the tables below.

import "../shared/texts.js";
import "../record/texts.js";
import "./texts.js";
import { get, Refusal, send } from "../shared/api.js";
import { wholeTime } from "../shared/clock.js";
import { find, make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { showTheme } from "../shared/look.js";
import { startPage, woven } from "../shared/page.js";
import { mountAxis } from "../now/axis.js";
import { parts, say } from "../texts.js";
import { duration, unfolded } from "./format.js";
import { plotly } from "./library.js";
import { makePanels } from "./panels.js";
import { hatchedOf, marksOf, momentIn, panelsOf } from "./picture.js";
import { sectionsOf } from "./sections.js";
import { stripsOf, toldOf } from "./strips.js";
import { tablesOf } from "./tables.js";

const BUCKETS = 600;
const WHOLE = "whole";

/** @typedef {import("../shared/page.js").Ground} Ground */
/** @typedef {{review: RunReview | null, traces: Trace[], issued: IssuedRun[], references: ReferenceRecord[], lost: string}} Loaded */

const id = new URLSearchParams(location.search).get("id") ?? "";
const library = plotly();
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const links = make("p", { class: "others" });
const told = make("ul", { class: "plainlist told" });
const choice = make("select", { id: "stretch" });
const chooser = make("p", { class: "stretch" }, make("label", { for: "stretch" }, say("run.show")), " ", choice);
const state = make("p", { class: "hint", role: "status" });
const panels = makePanels(() => library);
const sheet = make("section", { class: "part sheet", hidden: true }, make("h2", {}, say("run.sheet")), chooser, state, panels.root);
const below = make("div", { class: "below" });
find(document, "#main").append(make("section", { class: "home" }, says, rests, links, told, sheet, below));

/** @type {RunReview | null} */
let review = null;
/** @type {Ground | null} */
let ground = null;
/** The readings of the stretch that is shown. @type {{from: number, to: number, traces: Trace[]} | null} */
let shown = null;
/** Those of the whole run, for the tables. @type {Trace[]} */
let whole = [];
/** @type {IssuedRun[]} */
let issued = [];
/** Why those of the whole run are not there. */
let lost = "";

/** All at once: what is asked for here, ahead.js has asked for already. @returns {Promise<Loaded>} */
async function load() {
  const path = `reviews/runs/${encodeURIComponent(id)}`;
  const heats = temperaturesOf(path);
  const estimates = issuedOf();
  try {
    const [found, references] = await Promise.all([get(path), get("reviews/references")]);
    return { review: /** @type {RunReview} */ (found), references: /** @type {ReferenceRecord[]} */ (references), issued: await estimates, ...(await heats) };
  } catch (error) {
    if (error instanceof Refusal && [404, 422].includes(error.status)) return { review: null, references: [], issued: [], traces: [], lost: "" };
    throw error;
  }
}

/** The temperatures of the whole run; where they do not come, why. @param {string} path @returns {Promise<{traces: Trace[], lost: string}>} */
async function temperaturesOf(path) {
  try {
    /** @type {HistoryMessage} */
    const { traces } = await get(`${path}/temperatures`, { buckets: BUCKETS });
    return { traces, lost: "" };
  } catch (error) {
    return { traces: [], lost: lostSays(error) };
  }
}

/** @param {unknown} error */
function lostSays(error) {
  return say("run.lost", { sentence: error instanceof Refusal ? error.message : say("entry.silent") });
}

/** What was estimated at the spout, where estimates were kept. @returns {Promise<IssuedRun[]>} */
async function issuedOf() {
  try {
    const { runs } = /** @type {{runs: IssuedRun[]}} */ (await get("estimates/history", { run_id: id, quantity: "spout_abv", most: BUCKETS }));
    return runs;
  } catch (error) {
    console.info("what was estimated does not load; the measured strengths stand alone", error);
    return [];
  }
}

/** @param {Loaded} loaded @param {Ground} on */
function show(loaded, on) {
  const first = review === null;
  [review, ground] = [loaded.review, on];
  if (!review) return showUnknown();
  const { run, summary } = review;
  says.replaceChildren(...woven(parts("run.says", { purpose: run.purpose_name, batch: run.batch, vessel: run.vessel ?? say("run.novessel") })));
  document.title = `${run.batch}, ${run.purpose_name} · ${say("app.name")}`;
  setText(rests, [`${when(run, on.zone)}.`, ...run.clock_changes.map(({ at, by_min }) => say("run.clock", { way: say(by_min > 0 ? "run.clock.forward" : "run.clock.back"), minutes: Math.abs(by_min), time: wholeTime(Date.parse(at), on.zone) }))].join(" "));
  drawLinks(run, loaded.references);
  told.replaceChildren(...summary.map(({ text }) => make("li", {}, text)));
  told.setAttribute("aria-label", say("run.summary"));
  sheet.hidden = false;
  [whole, issued] = [loaded.traces, run.shows_strength ? loaded.issued : []];
  if (first) fillChoice(review);
  lost = loaded.lost || (whole.length === 0 ? say("run.notemperatures") : "");
  if (choice.value === WHOLE) showWhole(review);
  draw();
  if (first) setTimeout(drawBelow); // the sheet is what one came for
  else drawBelow();
}

function showUnknown() {
  setText(says, say("run.unknown"));
  setText(rests, say("run.unknown.rests"));
  links.replaceChildren(make("a", { class: "quiet", href: "runs.html" }, say("run.list")));
}

/** @param {RunFacts} run @param {string} zone */
function when({ started_at, ended_at, duration_min, who }, zone) {
  const words = { from: wholeTime(Date.parse(started_at), zone), to: ended_at ? wholeTime(Date.parse(ended_at), zone) : "", duration: duration(duration_min), who };
  return say(ended_at ? "run.when" : "run.when.on", words);
}

/** @param {RunFacts} run @param {readonly ReferenceRecord[]} references */
function drawLinks(run, references) {
  const pinned = references.find(({ run_id }) => run_id === run.id);
  const pin = pinned
    ? [make("span", { class: "pinned" }, say("run.pinned")), pressFor(say("run.unpin"), () => void repin("DELETE", `reviews/references/${pinned.id}`, { version: pinned.version }), "quiet")]
    : [pressFor(say("run.pin"), () => void repin("PUT", "reviews/references", {}, { run_id: run.id }), "quiet")];
  links.replaceChildren(
    ...(run.batch_id ? [make("a", { class: "quiet", href: `batches.html?id=${run.batch_id}` }, say("run.batch"))] : []),
    make("a", { class: "quiet", href: `compare.html?run=${run.id}` }, say("run.compare")),
    ...pin,
    pressFor(say("run.print"), () => print(), "quiet"),
    make("a", { class: "quiet", href: `api/reviews/runs/${run.id}/report.html`, download: `${run.batch} ${run.purpose_name}.html` }, say("run.report")),
    make("a", { class: "quiet", href: `api/reviews/runs/${run.id}/data.json`, download: `${run.batch} ${run.purpose_name}.json` }, say("run.data")),
    make("a", { class: "quiet", href: "runs.html" }, say("run.list")),
  );
}

/** @param {"PUT" | "DELETE"} method @param {string} path @param {Record<string, number>} query @param {unknown} [body] */
async function repin(method, path, query, body) {
  try {
    await send(method, path, query, body);
    setText(state, "");
  } catch (error) {
    setText(state, error instanceof Refusal ? error.message : say("entry.silent"));
  }
  refresh();
}

/** The whole run, or one of its phases. @param {RunReview} found */
function fillChoice({ phases }) {
  const stretches = phases.map(({ name, from_at, to_at }) => ({ text: name, from: Date.parse(from_at), to: Date.parse(to_at) }));
  choice.replaceChildren(make("option", { value: WHOLE }, say("run.show.all")), ...stretches.filter(({ from, to }) => to - from >= 60_000).map(({ text, from, to }) => make("option", { value: `${from} ${to}` }, text)));
  choice.addEventListener("change", () => void loadTraces());
}

/** @param {RunReview} found */
function showWhole({ run: { from_ms, to_ms } }) {
  shown = { from: from_ms, to: to_ms, traces: whole };
  setText(state, lost);
}

async function loadTraces() {
  if (!review) return;
  if (choice.value === WHOLE) showWhole(review);
  else await showStretch(choice.value, review.places);
  draw();
}

/** @param {string} stretch @param {readonly string[]} places */
async function showStretch(stretch, places) {
  const [from = 0, to = 0] = stretch.split(" ").map(Number);
  setText(state, say("run.waiting"));
  try {
    const traces = await history(from, to, places);
    if (choice.value !== stretch) return; // another was chosen meanwhile
    shown = { from, to, traces };
    setText(state, lost);
  } catch (error) {
    shown = { from, to, traces: [] };
    setText(state, lostSays(error));
  }
}

/** @param {number} from_ms @param {number} to_ms @param {readonly string[]} places @returns {Promise<Trace[]>} */
async function history(from_ms, to_ms, places) {
  if (places.length === 0) return [];
  const list = places.map((place) => `places=${place}`).join("&");
  /** @type {HistoryMessage} */
  const { traces } = await get(`history?${list}`, { from_ms, to_ms, buckets: BUCKETS });
  return traces;
}

function draw() {
  if (!review || !ground || !shown) return;
  const { zone, unit } = ground;
  const view = { from: shown.from, to: shown.to };
  panels.show({
    ...view,
    panels: panelsOf(review, shown.traces, issued, view, unit),
    marks: marksOf(review, zone, unit),
    hatched: hatchedOf(review),
    told: toldOf(review, zone),
    strips: { temperature: stripsOf(review, zone) },
    axis: (root, width) => {
      root.replaceChildren();
      mountAxis(root)({ from_ms: view.from, to_ms: view.to, following: false }, zone, width);
    },
    at: (x) => momentIn(x, view, zone),
    label: say("run.sheet"),
  });
}

function drawBelow() {
  if (!review || !ground) return;
  below.replaceChildren(...sectionsOf(review, ground), tablesOf(review, whole, ground));
}

let foldAgain = () => {};
addEventListener("beforeprint", () => {
  document.documentElement.classList.add("printing");
  showTheme("light"); // and with it the charts, at the paper's width
  foldAgain = unfolded(below); // what was drawn anew for the light
  panels.paint();
});
addEventListener("afterprint", () => {
  document.documentElement.classList.remove("printing");
  foldAgain();
  showTheme(null);
  panels.paint();
});

const refresh = startPage("runs", load, show);
