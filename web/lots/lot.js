// A lot's own page: what it is, what was measured of it, where it came from and where it went, and
// what can be done with it.

import "../shared/texts.js";
import "../record/texts.js";
import "../cellar/texts.js";
import "../batches/texts.js";
import "./texts.js";
import { get, Refusal } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { find, make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { startPage, woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { drawDoubts } from "../batches/balance.js";
import { stageForm } from "../batches/forms.js";
import { entryTitle, entryValue } from "../batches/story.js";
import { followRecord, renew } from "../record/follow.js";
import { makeKeeper } from "../record/keeper.js";
import { withdraw, withdrawEntry } from "../record/wishes.js";
import { makeDesk, mendsHere } from "./desk.js";
import { drawKin, nodeName } from "./kin.js";
import { drawPlan } from "./plan.js";
import { eventsOf, staysAsItIs } from "./story.js";
import { holdingText, lossText } from "./tell.js";
import { WAYS, waysOf } from "./ways.js";

/** What is entered of a kind of lot beside what moves it. @type {Record<string, string[]>} */
const ENTRIES = { cask: ["cask_weight", "top_up", "smell"], spirit: ["bottle_fill", "smell"], blend: ["bottle_fill", "smell"], bottles: ["bottle_fill"] };
const TO_STRENGTH = ["spirit", "blend", "cask"];

/**
 * @typedef {object} Loaded
 * @property {LotView | null} lot
 * @property {GraphRecord | null} graph
 * @property {TransferRecord[]} moves
 * @property {EntryRecord[]} entries
 * @property {ProofingRecord | null} plan
 * @property {readonly object[]} doubts what of it cannot be true
 * @property {import("./desk.js").Stock} stock
 */

const id = new URLSearchParams(location.search).get("id") ?? "";
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const press = make("button", { type: "button", class: "press main", hidden: true });
const more = make("div", { class: "others" });
const doing = make("div", { class: "doing" });
const body = make("div", { class: "body" });
/** @type {Loaded | null} */
let loaded = null;
let zone = "UTC";
const keeper = makeKeeper({ refresh: () => void refresh(), redraw: () => draw(), zone: () => zone, mend: (entry) => desk.mend(entry), mends: mendsHere });
const desk = makeDesk({ keeper, zone: () => zone, stock: () => loaded?.stock ?? { lots: [], runs: [], vessels: [], batches: [], empties: [] }, put, close });
find(document, "#main").append(make("section", { class: "home" }, keeper.root, says, rests, press, more, doing, body));

/** @returns {Promise<Loaded>} */
async function load() {
  const [lots, runs, vessels, batches, plans] = await Promise.all(["lots", "runs", "vessels", "batches", "proofings"].map((path) => get(path)));
  const stock = { lots, runs, vessels, batches, empties: [] };
  if (!lots.some((/** @type {LotRecord} */ one) => one.id === id)) return { lot: null, graph: null, moves: [], entries: [], plan: null, doubts: [], stock };
  const [lot, graph, moves, { doubts }, entries] = await Promise.all([get(`lots/${id}`), get(`graph/${id}`), get("transfers", { lot_id: id }), get(`lots/${id}/balance`), get("entries", { lot_id: id }).catch(quiet)]);
  return { lot, graph, moves, entries, doubts, plan: plans.find((/** @type {ProofingRecord} */ one) => one.lot_id === id) ?? null, stock };
}

/** What is shown beside, and not kept without a network. @param {unknown} error @returns {EntryRecord[]} */
function quiet(error) {
  if (error instanceof Refusal) throw error;
  console.info("entries of the lot are not shown", error);
  return [];
}

/** @param {Loaded} found @param {import("../shared/page.js").Ground} ground */
function show(found, ground) {
  loaded = found;
  zone = ground.zone;
  draw();
}

/** @param {string} at */
function time(at) {
  return saidTime(Date.parse(at), Date.now(), zone);
}

/** The lot with what waits laid over it. @returns {LotRecord | null} */
function lotNow() {
  return desk.lots().find((lot) => lot.id === id) ?? null;
}

function draw() {
  if (!loaded) return;
  const lot = lotNow();
  if (!lot) {
    press.hidden = true;
    more.replaceChildren(cellar());
    return says.replaceChildren(...woven(parts("lots.missing")));
  }
  const name = lot.name || say(`lot.${lot.kind}`);
  document.title = `${name} · ${say("app.name")}`;
  says.replaceChildren(...woven(sayingOf(name, lot.now)));
  rests.replaceChildren(...about(lot));
  drawDeeds(lot);
  const { graph, moves, entries, plan } = loaded;
  const names = new Map((graph?.nodes ?? []).map((node) => [node.id, nodeName(node)]));
  const nameOf = (/** @type {string} */ of) => names.get(of) ?? desk.lots().find((one) => one.id === of)?.name ?? say("lots.another");
  const events = eventsOf({ here: id, measures: loaded.lot?.measures ?? [], moves, entries, waiting: keeper.entries(), nameOf, told: (entry) => ({ title: entryTitle(entry), value: entryValue(entry) }) });
  renew(body,
    ...(lot.kind === "cask" || loaded.lot?.cask ? [make("p", { class: "rests" }, lossText(loaded.lot?.cask ?? null))] : []),
    ...(loaded.doubts.length > 0 ? [make("h2", {}, say("balance.doubts")), drawDoubts(loaded.doubts)] : []),
    ...(plan ? [make("h2", {}, say("plan.title")), drawPlan(plan, { time, desk, lot })] : []),
    make("h2", {}, say("lots.story")),
    events.length === 0 ? make("p", { class: "hint" }, say("lots.story.none")) : make("ul", { class: "wire story of-lot" }, ...events.map((event) => eventLine(event, lot))),
    ...drawKin(graph),
  );
}

/** @param {string} name @param {Holding | null} now */
function sayingOf(name, now) {
  if (now?.volume_l == null) return parts("lots.says.unknown", { name });
  if (now.volume_l === 0) return parts("lots.says.empty", { name });
  return now.abv === null ? parts("lots.says.volume", { name, volume: now.volume_l.toFixed(2) }) : parts("lots.says", { name, volume: now.volume_l.toFixed(2), abv: now.abv.toFixed(1) });
}

/** @param {LotRecord} lot @returns {(Node | string)[]} */
function about({ kind, vessel_id, batch, origin, now, waiting }) {
  const vessel = loaded?.stock.vessels.find((one) => one.id === vessel_id)?.name;
  const of = /** @type {BatchRecord | undefined} */ (loaded?.stock.batches.find((one) => one.name === batch));
  const said = [say(`lot.${kind}`), vessel ? say("cellar.lot.where", { vessel }) : "", now?.volume_l ? holdingText(now) : ""].filter(Boolean).join(", ");
  return [say("lots.about", { said, origin }), ...(of ? [" ", make("a", { href: `batches.html?id=${of.id}` }, say("lots.batchlink", { batch: of.name }))] : []), ...(waiting ? [" ", say("batch.waits")] : [])];
}

/** @param {LotRecord} lot */
function drawDeeds(lot) {
  const { first, rest } = waysOf(lot.kind);
  const empty = lot.now?.volume_l === 0;
  setText(press, say("lots.event.do"));
  press.hidden = more.hidden = doing.childElementCount > 0;
  const key = `${lot.kind} ${lot.version} ${empty}`;
  if (more.dataset.held === key) return;
  more.dataset.held = key;
  const way = (/** @type {string} */ kind) => pressFor(say(`way.${kind}`), () => desk.transfer(kind, lotNow() ?? lot));
  const entries = (ENTRIES[lot.kind] ?? []).map((kind) => pressFor(say(`entry.kind.${kind}`), () => void openEntry(kind)));
  more.replaceChildren(
    ...first.map(way),
    ...(TO_STRENGTH.includes(lot.kind) ? [pressFor(say("plan.begin"), () => desk.proof([lot], loaded?.plan ?? null))] : []),
    make("details", { class: "rest" }, make("summary", {}, say("lots.more")), make("span", { class: "deeds" }, ...entries, ...rest.map(way), pressFor(say("lots.correct"), () => desk.lot(lotNow())), pressFor(say("lots.takeback"), () => void keeper.enter(withdrawLot(lotNow() ?? lot))))),
    cellar(),
  );
}

function cellar() {
  return make("a", { class: "quiet", href: "cellar.html" }, say("lots.cellar"));
}

/** @param {LotRecord} lot */
function withdrawLot(lot) {
  return withdraw({ ...lot, run_id: lot.id }, "lot", say("batch.taken", { what: lot.name }));
}

/** @param {import("./story.js").Event} event @param {LotRecord} lot */
function eventLine({ at_ms, title, value, about: told, measure, move, entry, waiting }, lot) {
  const taken = say("batch.taken", { what: title });
  const correct = (/** @type {() => void} */ act) => pressFor(say("batch.correct"), act, "quiet");
  const back = (/** @type {import("../shared/waiting.js").Wish} */ wish) => pressFor(say("batch.takeback"), () => void keeper.enter(wish), "quiet");
  const deeds = staysAsItIs({ entry, measure, move }) ? (move && !entry ? elsewhere(move) : [])
    : entry ? [correct(() => void openEntry(entry.kind, entry)), back(withdrawEntry(entry, lot.batch ?? id, taken))]
    : measure ? [correct(() => desk.measure(lot, measure)), back(withdraw({ ...measure, run_id: id }, "measure", taken))]
    : move ? deedsOf(move) : [];
  /** @param {TransferRecord} moved */
  function deedsOf(moved) {
    const here = movedFrom(moved, lot);
    return here ? [correct(() => desk.transfer(moved.kind, here, { move: moved })), back(withdraw({ ...moved, run_id: here.id }, "transfer", taken))] : elsewhere(moved);
  }
  return make("li", { class: waiting ? "open" : null }, make("div", { class: "knot" },
    make("span", { class: "name" }, title), make("span", { class: "value" }, value), make("span", { class: "about" }, saidTime(at_ms, Date.now(), zone)),
    make("span", { class: "state" }, told, ...deeds)));
}

/** Whose form a transfer is corrected in: this lot's, or a jar's that was poured here; what came from another lot is corrected there. @param {TransferRecord} move @param {LotRecord} lot @returns {import("./forms.js").Here | null} */
function movedFrom({ kind, from_lot, to_lot }, lot) {
  const end = WAYS[kind]?.here === "to" ? to_lot : from_lot;
  const jar = loaded?.graph?.nodes.find((node) => node.id === end && node.is_a === "jar");
  return end === id ? lot : jar ? { ...jar, kind: "jar" } : null;
}

/** The page of the lot at the other end, where what came or went with an entry is corrected. @param {TransferRecord} move */
function elsewhere({ from_lot, to_lot }) {
  const other = loaded?.stock.lots.find((one) => one.id !== id && (one.id === to_lot || one.id === from_lot));
  return other ? [make("a", { class: "quiet", href: `lot.html?id=${other.id}` }, say("lots.correct.at", { name: other.name || say(`lot.${other.kind}`) }))] : [];
}

/** @param {string} kind @param {EntryRecord} [entry] the one to correct */
async function openEntry(kind, entry) {
  const lot = lotNow();
  if (!lot) return;
  const others = kind === "top_up" ? [lot, ...desk.lots().filter((one) => one.id !== id)] : [lot];
  put(await stageForm({
    kind, zone, lots: others, start: entry, cancel: close,
    act: async (said) => {
      const whole = { ...(lot.batch ? { batch: lot.batch } : {}), lot_id: id, ...said };
      const label = say(`entry.kind.${kind}`);
      if (entry) await keeper.submit({ kind: "entry", subject: entry.id, scope: lot.batch, method: "PUT", path: `entries/${entry.id}`, body: { version: entry.version, said: whole }, label });
      else await keeper.submit({ kind: "entry", scope: lot.batch, method: "POST", path: "entries", body: whole, label });
      close();
    },
  }));
}

/** @param {HTMLElement} form */
function put(form) {
  doing.replaceChildren(form);
  draw();
  doing.scrollIntoView({ block: "nearest" });
  const first = doing.querySelector("input, select, button");
  if (first instanceof HTMLElement) first.focus();
}

function close() {
  doing.replaceChildren();
  draw();
}

press.addEventListener("click", () => {
  const lot = lotNow();
  if (lot) desk.measure(lot);
});
const refresh = startPage("cellar", load, show);
followRecord(refresh);
