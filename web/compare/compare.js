// Up to four runs laid over each other, and how they differ.

import "../shared/texts.js";
import "../record/texts.js";
import "../run/texts.js";
import "./texts.js";
import { get, Refusal, send } from "../shared/api.js";
import { timeOfDay } from "../shared/clock.js";
import { find, make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { showTheme } from "../shared/look.js";
import { startPage, woven } from "../shared/page.js";
import { unitSign } from "../shared/units.js";
import { nameOf } from "../now/lines.js";
import { makeDash, strokeDash } from "../now/strokes.js";
import { parts, say } from "../texts.js";
import { DASH, folded, keyed, keyedLess, saidToTheMinute, tableOf, unfolded } from "../run/format.js";
import { plotly } from "../run/library.js";
import { makePanels, writeAxis } from "../run/panels.js";
import { rowsOf } from "../run/picture.js";
import { gapsList, section } from "../run/sections.js";
import { extent, firstPlaces, gapsOf, marksOf, panelsOf, placesOf, saidAt, STROKES, ticksOf } from "./picture.js";

const ALIGNS = ["first_drop", "heat_on", "clock", "pot_temperature", "alcohol"];
const MOST = 4;
const BUCKETS = 300;
const OTHERS = 200;

/** @typedef {import("../shared/page.js").Ground} Ground */
/** @typedef {{found: Comparison | null, refused: string}} Loaded */

const asked = new URLSearchParams(location.search);
let ids = [...new Set(asked.getAll("run"))].slice(0, MOST);
const library = plotly();
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const links = make("p", { class: "others" }, make("a", { class: "quiet", href: "runs.html" }, say("run.list")), pressFor(say("run.print"), () => print(), "quiet"));
const chosen = make("ul", { class: "chosen" });
const align = make("select", { id: "align" }, ...ALIGNS.map((each) => make("option", { value: each }, say(`compare.how.${each}`))));
align.value = ALIGNS.find((each) => each === asked.get("align")) ?? "first_drop";
const add = make("select", { id: "add", disabled: true });
const places = make("p", { class: "places", role: "group", "aria-label": say("compare.places") });
const state = make("p", { class: "hint", role: "status" });
const axisSays = make("p", { class: "hint axissays" });
const panels = makePanels(() => library);
const controls = make("div", { class: "choices" }, make("p", {}, make("label", { for: "align" }, say("compare.align")), align), make("p", {}, make("label", { for: "add" }, say("compare.add")), add));
const sheet = make("section", { class: "part sheet", hidden: true }, make("h2", {}, say("compare.sheet")), places, panels.root, axisSays);
const below = make("div", { class: "below" });
find(document, "#main").append(make("section", { class: "home" }, says, rests, links, chosen, controls, state, sheet, below));

/** The places shown, once somebody chose. @type {string[] | null} */
let wanted = null;
/** @type {Comparison | null} */
let found = null;
/** @type {Ground | null} */
let ground = null;

/** What ahead.js has asked for already. @returns {Promise<Loaded>} */
async function load() {
  if (ids.length === 0) return { found: null, refused: "" };
  const query = new URLSearchParams(ids.map((id) => ["run", id]));
  try {
    return { found: await get(`reviews/compare?${query}`, { align: align.value, buckets: BUCKETS }), refused: "" };
  } catch (error) {
    if (error instanceof Refusal) return { found: null, refused: error.message };
    throw error;
  }
}

/** The runs that may be added, once the sheet stands. */
async function offer() {
  try {
    const { runs } = /** @type {{runs: ReviewedRow[]}} */ (await get("reviews/runs", { limit: OTHERS }));
    const free = runs.filter(({ id }) => !ids.includes(id));
    add.replaceChildren(make("option", { value: "" }, say("compare.choose")), ...free.map((run) => make("option", { value: run.id }, titleOf(run))));
    add.disabled = ids.length >= MOST;
  } catch (error) {
    add.disabled = true;
    setText(state, error instanceof Refusal ? error.message : say("entry.silent"));
  }
}

/** @param {ReviewedRow} run */
function titleOf({ batch, purpose_name, started_at }) {
  return say("compare.run", { batch, purpose: purpose_name, time: saidToTheMinute(Date.parse(started_at), Date.now(), ground?.zone ?? "UTC") });
}

/** @param {Loaded} loaded @param {Ground} on */
function show(loaded, on) {
  [found, ground] = [loaded.found, on];
  void offer();
  sheet.hidden = found === null;
  if (!found) {
    setText(says, loaded.refused ? say("compare.unknown", { sentence: loaded.refused }) : say("compare.none"));
    chosen.replaceChildren();
    below.replaceChildren();
    return;
  }
  says.replaceChildren(...woven(found.runs.length === 1 ? parts("compare.says.one") : parts("compare.says", { count: found.runs.length, how: say(`compare.how.${found.align}`) })));
  setText(rests, found.runs.filter(({ why }) => why).map((one) => say("compare.cannot", { run: titleOf(one.run), why: one.why ?? "" })).join(" "));
  chosen.replaceChildren(...found.runs.map(chosenRun));
  draw();
}

/** @param {AlignedRun} one @param {number} at */
function chosenRun({ run, is_reference }, at) {
  const dash = makeDash(34);
  strokeDash(dash, STROKES[at] ?? { tone: 0, dash: 0 });
  return make("li", {}, make("b", {}, String(at + 1)), dash, make("a", { href: `run.html?id=${run.id}` }, titleOf(run)),
    ...(is_reference ? [make("span", { class: "pinned" }, say("compare.reference"))] : [pressFor(say("compare.pin"), () => void pin(run), "quiet")]),
    leaveOut(run));
}

/** @param {ReviewedRow} run */
function leaveOut(run) {
  const press = pressFor(say("compare.leave"), () => turn(ids.filter((id) => id !== run.id)), "quiet");
  press.setAttribute("aria-label", say("compare.remove", { run: titleOf(run) }));
  return press;
}

/** @param {ReviewedRow} run */
async function pin({ id }) {
  try {
    await send("PUT", "reviews/references", {}, { run_id: id });
    setText(state, "");
  } catch (error) {
    setText(state, error instanceof Refusal ? error.message : say("entry.silent"));
  }
  refresh();
}

/** @param {string[]} next */
function turn(next) {
  ids = next;
  const query = new URLSearchParams([...ids.map((id) => ["run", id]), ["align", align.value]]);
  history.replaceState(null, "", `${location.pathname}?${query}`);
  refresh();
}

function draw() {
  if (!found || !ground) return;
  const there = found;
  const { zone, unit } = ground;
  const names = placesOf(there);
  const shown = (wanted ?? firstPlaces(names)).filter((name) => names.includes(name));
  places.replaceChildren(...names.map((name) => placePress(name, shown)));
  const view = extent(there);
  const drawn = panelsOf(there, shown, view, unit, zone);
  const at = (/** @type {number} */ x) => saidAt(there, x, (ms) => timeOfDay(ms, zone), unit);
  setText(axisSays, say(there.axis.unit === "s" ? "compare.axis.time" : "compare.axis", { label: there.axis.label, unit: there.axis.unit === "°C" ? unitSign(unit) : there.axis.unit }));
  sheet.hidden = !drawn.some(({ lines }) => lines.length > 0);
  panels.show({
    ...view, panels: drawn, marks: marksOf(there), hatched: [], told: [], strips: {}, at, label: say("compare.sheet"),
    axis: (root, width) => writeAxis(root, ticksOf(view, there.axis.unit, width, unit).map((x) => ({ at: ((x - view.from) / (view.to - view.from)) * width, text: at(x) }))),
  });
  below.replaceChildren(
    section(say("compare.table"), make("p", { class: "hint" }, say("compare.rests")), differences(there)),
    ...(there.runs.some(({ marks }) => marks.length > 0) ? [section(say("compare.marks"), marksTable(there, at))] : []),
    section(say("run.gaps"), gapsList(gapsOf(there))),
    section(say("run.tables"), ...drawn.map((panel) => folded(say("compare.lines", { what: panel.title }), () => tableOf(panel.title, [say("compare.at"), ...panel.lines.map(({ name }) => name)], rowsOf(panel.lines, view).map(({ at: x, values }) => [at(x), ...values]))))),
  );
}

/** @param {string} name @param {readonly string[]} shown */
function placePress(name, shown) {
  const press = pressFor(nameOf({ place: name, probe_id: null }), () => {
    wanted = shown.includes(name) ? shown.filter((each) => each !== name) : [...shown, name];
    draw();
    const again = [...places.children].find((each) => each.textContent === press.textContent);
    if (again instanceof HTMLElement) again.focus();
  });
  press.setAttribute("aria-pressed", String(shown.includes(name)));
  return press;
}

/** @param {Comparison} there */
function differences({ runs, table }) {
  const heads = [say("compare.th.number"), ...runs.map(({ run }, at) => `${at + 1} · ${run.batch}`)];
  const rows = table.filter(({ values }) => values.some((value) => value !== null)).map((key) => [
    key.label, ...key.values.map((value, at) => {
      const text = keyed(key, value);
      const less = key.differences[at];
      return at === 0 || less == null || text === DASH ? text : make("span", {}, text, " ", make("small", { class: "less" }, say("compare.difference", { difference: keyedLess(key, less) })));
    })]);
  return tableOf(say("compare.table"), heads, rows);
}

/** @param {Comparison} there @param {(x: number) => string} at */
function marksTable({ runs }, at) {
  const names = new Map(runs.flatMap(({ marks }) => marks.map(({ key, name }) => [key, name])));
  const rows = [...names].map(([key, name]) => [name, ...runs.map(({ marks }) => {
    const mark = marks.find((one) => one.key === key);
    return mark?.x == null ? DASH : at(mark.x);
  })]);
  return tableOf(say("compare.marks"), [say("run.th.what"), ...runs.map(({ run }, index) => `${index + 1} · ${run.batch}`)], rows);
}

align.addEventListener("change", () => turn(ids));
add.addEventListener("change", () => add.value && turn([...ids, add.value]));
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
