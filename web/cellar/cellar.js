// The cellar: jars side by side, classed by nose and tongue, and what else is in store.

import "../shared/texts.js";
import "../record/texts.js";
import "../batches/texts.js";
import "../lots/texts.js";
import "./texts.js";
import { get } from "../shared/api.js";
import { day } from "../shared/clock.js";
import { find, keepList, make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { isHereOnly } from "../shared/here.js";
import { startPage, woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { followRecord, renew } from "../record/follow.js";
import { makeJarCard } from "../record/jar_card.js";
import { makeKeeper } from "../record/keeper.js";
import { overlaid } from "../record/run.js";
import { makeDesk, mendsHere } from "../lots/desk.js";
import { fillTitle, makeRow } from "./shelf.js";
import { makeStore } from "./store.js";

const RUNS = 8; // the newest whose jars are shown

/** @typedef {{runs: RunRecord[], stock: import("../lots/desk.js").Stock, inStore: CellarAnswer}} Stored */

const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const press = make("button", { type: "button", class: "press main", hidden: true }, say("cellar.press"));
const more = make("p", { class: "others" }, make("a", { class: "quiet", href: "stock.html" }, say("cellar.to.stock")), make("a", { class: "quiet", href: "batches.html" }, say("cellar.to.batches")));
more.prepend(pressFor(say("lots.add.press"), () => desk.lot(null)), pressFor(say("tare.add"), () => desk.tare(null)));
const rows = make("div", { class: "rows" });
const basis = make("p", { class: "hint", hidden: true }, say("cellar.basis"));
const store = makeStore(() => void seek());
const gone = make("details", { class: "store", hidden: true });
const keeper = makeKeeper({ refresh: () => void refresh(), redraw: () => draw(), zone: () => ground?.zone ?? "UTC", mend: (entry) => desk.mend(entry), mends: mendsHere });
const doing = make("div", { class: "doing" });
const desk = makeDesk({ keeper, zone: () => ground?.zone ?? "UTC", stock: () => stored?.stock ?? { lots: [], runs: [], vessels: [], batches: [], empties: [] }, put, close });
const empties = make("section", { class: "store" });
find(document, "#main").append(make("section", { class: "home" }, keeper.root, says, rests, press, more, doing, rows, basis, store.root, gone, empties));

/** @type {Stored | null} */
let stored = null;
/** @type {import("../shared/page.js").Ground | null} */
let ground = null;
/** @type {string | null} the jar that is open */
let open = null;
/** @type {ReturnType<typeof makeJarCard> | null} */
let card = null;

/** @returns {Promise<Stored>} */
async function load() {
  const found = store.load();
  const [all, lots, vessels, batches, empties] = await Promise.all(["runs", "lots", "vessels", "batches", "jar-vessels"].map((path) => get(path)));
  const runs = await Promise.all(all.slice(0, RUNS).map((/** @type {RunSummary} */ { id }) => get(`runs/${id}`)));
  return { runs, stock: { runs: all, lots, vessels, batches, empties }, inStore: await found };
}

let sought = 0;
/** Only what is looked for in store is asked for anew. */
async function seek() {
  const mine = (sought += 1);
  try {
    const inStore = await store.load();
    if (mine !== sought || !stored) return;
    stored = { ...stored, inStore };
    draw();
  } catch (error) {
    console.info("what is in store does not load; loading the page again", error);
    void refresh();
  }
}

/** @param {Stored} loaded @param {import("../shared/page.js").Ground} on */
function show(loaded, on) {
  stored = loaded;
  ground = on;
  draw();
}

function draw() {
  if (!stored || !ground) return;
  const runs = stored.runs.map((run) => overlaid(run, keeper.entries())).filter(({ jars }) => jars.length > 0);
  const jars = runs.flatMap((run) => run.jars).filter(({ is_gone }) => !is_gone);
  const unclassed = jars.filter(({ cut }) => cut === null).length;
  says.replaceChildren(...woven(saying(jars.length, unclassed)));
  setText(rests, say(jars.length === 0 ? "cellar.rests.none" : "cellar.rests"));
  press.hidden = unclassed === 0;
  const { zone } = ground;
  keepList(rows, runs, ({ id }) => id, ({ id }) => make("section", { class: "run" }, make("h2"), make("div"), make("div", { class: "doing" }), make("p", { class: "others" }, pressFor(say("pour.press"), () => openPour(id)), make("a", { class: "quiet", href: `api/labels/runs/${id}`, target: "_blank" }, say("cellar.labels"))), ...(isHereOnly(location.hostname) ? [make("p", { class: "hint here" }, say("cellar.labels.here"))] : [])), (section, run) => {
    fillTitle(find(section, "h2"), run, (ms) => day(ms, zone));
    renew(/** @type {Element} */ (section.children[1]), makeRow(run, open, choose));
    showCard(/** @type {HTMLElement} */ (section.children[2]), run, zone);
  });
  basis.hidden = !jars.some(({ abv_basis }) => abv_basis === "between" || abv_basis === "expected");
  more.hidden = doing.childElementCount > 0;
  drawStore(stored, (ms) => day(ms, zone));
  drawEmpties(stored.stock.empties);
}

/** @param {number} count @param {number} unclassed */
function saying(count, unclassed) {
  if (count === 0) return parts("cellar.says.none");
  return parts(count === 1 ? "cellar.says.one" : "cellar.says", { count, unclassed: unclassed > 0 ? parts("cellar.unclassed", { count: unclassed }) : "" });
}

/** @param {HTMLElement} place @param {RunRecord} run @param {string} zone */
function showCard(place, run, zone) {
  const jar = run.jars.find(({ id }) => id === open);
  if (!jar) return place.replaceChildren();
  if (card?.id !== jar.id) card = makeJarCard({ jar, run, zone, keeper });
  card.show(jar, run);
  if (place.firstElementChild !== card.root) place.replaceChildren(card.root);
}

/** @param {string} id */
function choose(id) {
  open = open === id ? null : id;
  card = null;
  draw();
  document.getElementById(`jar-${id}`)?.focus();
}

/** @param {string} id of the run */
function openPour(id) {
  const run = stored?.runs.find((one) => one.id === id);
  if (run) desk.pour(overlaid(run, keeper.entries()));
}

/** @param {HTMLElement} form */
function put(form) {
  doing.replaceChildren(form);
  draw();
  doing.scrollIntoView({ block: "start" });
  const first = doing.querySelector("input, select");
  if (first instanceof HTMLElement) first.focus({ preventScroll: true });
}

function close() {
  doing.replaceChildren();
  draw();
}

/** @param {readonly JarVesselRecord[]} known */
function drawEmpties(known) {
  renew(empties,
    make("h2", {}, say("tare.title")),
    known.length === 0
      ? make("p", { class: "hint" }, say("tare.title.none"))
      : make("ul", { class: "empties" }, ...known.map(({ number, tare_kg, volume_l }) => make("li", {}, pressFor(say("tare.line", { number, tare: tare_kg === null ? "–" : tare_kg.toFixed(3), holds: volume_l === null ? "" : say("tare.holds", { volume: volume_l }) }), () => desk.tare(number))))),
  );
}

/** @param {Stored} all @param {(ms: number) => string} on */
function drawStore({ inStore }, on) {
  const lots = desk.lots();
  store.show(inStore, lots.filter(({ waiting, now }) => waiting && now?.volume_l !== 0), on);
  const empty = lots.filter(({ now, kind }) => now?.volume_l === 0 && kind !== "water");
  gone.hidden = empty.length === 0;
  renew(gone, make("summary", {}, say("cellar.gone", { count: empty.length })), make("ul", { class: "lots" }, ...empty.map(({ id, name, kind }) => make("li", {}, make("a", { href: `lot.html?id=${id}` }, name), make("small", {}, say(`lot.${kind}`))))));
}

press.addEventListener("click", () => {
  const first = stored?.runs.flatMap(({ jars }) => jars).find(({ cut, is_gone }) => cut === null && !is_gone);
  if (!first) return;
  open = first.id;
  draw();
  document.getElementById(`jar-${first.id}`)?.focus();
});
const refresh = startPage("cellar", load, show);
followRecord(refresh);
