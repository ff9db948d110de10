// A jar's own page, which the code on its label opens.

import "../shared/texts.js";
import "../record/texts.js";
import "../cellar/texts.js";
import "../batches/texts.js";
import "../lots/texts.js";
import "./texts.js";
import { get, Refusal } from "../shared/api.js";
import { find, make, setText } from "../shared/dom.js";
import { pressFor } from "../shared/entry.js";
import { isHereOnly } from "../shared/here.js";
import { startPage, woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { drawDoubts } from "../batches/balance.js";
import { followRecord, renew } from "../record/follow.js";
import { makeJarCard } from "../record/jar_card.js";
import { makeKeeper } from "../record/keeper.js";
import { cutOf, overlaid } from "../record/run.js";
import { makeDesk, mendsHere } from "../lots/desk.js";
import { drawKin } from "../lots/kin.js";
import { waysOf } from "../lots/ways.js";

/** @typedef {{jar: JarRecord, run: RunRecord, lot: LotRecord | null, graph: GraphRecord, doubts: readonly object[], stock: import("../lots/desk.js").Stock} | {missing: string}} Found */

const id = new URLSearchParams(location.search).get("id");
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const place = make("div");
const ways = make("div", { class: "others" });
const doing = make("div", { class: "doing" });
const tare = make("p", { class: "tare" });
const kin = make("div", { class: "body" });
const more = make("p", { class: "others" }, make("a", { class: "quiet", href: "cellar.html" }, say("own.cellar")), ...(id ? [make("a", { class: "quiet", href: `api/labels/jars/${id}`, target: "_blank" }, say("own.label"))] : []));
const here = make("p", { class: "hint", hidden: !id || !isHereOnly(location.hostname) }, say("cellar.labels.here"));
/** @type {Found | null} */
let found = null;
let zone = "UTC";
/** @type {ReturnType<typeof makeJarCard> | null} */
let card = null;
const keeper = makeKeeper({ refresh: () => void refresh(), redraw: () => draw(), zone: () => zone, mend: (entry) => desk.mend(entry), mends: mendsHere });
const desk = makeDesk({ keeper, zone: () => zone, stock, put, close });
find(document, "#main").append(make("section", { class: "home" }, keeper.root, says, rests, place, tare, ways, doing, kin, more, here));

/** @returns {Promise<Found>} */
async function load() {
  if (!id) return { missing: say("own.none") };
  try {
    /** @type {JarRecord} */
    const jar = await get(`jars/${encodeURIComponent(id)}`);
    const [run, lot, graph, { doubts }, ...stock] = await Promise.all([get(`runs/${jar.run_id}`), jar.lot_id ? get(`lots/${jar.lot_id}`).catch(() => null) : null, get(`graph/${jar.id}`), get(`lots/${jar.id}/balance`).catch(inNoBook), ...["lots", "runs", "vessels", "batches", "jar-vessels"].map((path) => get(path))]);
    const [lots, runs, vessels, batches, empties] = /** @type {any[]} */ (stock);
    return { jar, run, lot, graph: /** @type {GraphRecord} */ (graph), doubts, stock: { lots, runs, vessels, batches, empties } };
  } catch (error) {
    if (error instanceof Refusal) return { missing: say("own.unknown") };
    throw error;
  }
}

/** A jar that is open, or was not measured, has no book to be doubted. @param {unknown} error */
function inNoBook(error) {
  if (error instanceof Refusal) return { doubts: [] };
  throw error;
}

/** @param {Found} loaded @param {import("../shared/page.js").Ground} ground */
function show(loaded, ground) {
  found = loaded;
  zone = ground.zone;
  draw();
}

function draw() {
  if (!found) return;
  if ("missing" in found) return setText(says, found.missing);
  const { jar: told, lot } = found;
  const run = overlaid(found.run, keeper.entries());
  const jar = run.jars.find((each) => each.id === told.id) ?? told;
  const cut = say(`cut.${cutOf(jar, run) ?? "none"}`);
  const words = { number: jar.number, batch: run.batch, class: cut };
  const litres = jar.volume_at_20_c_l ?? jar.volume_l;
  const volume = litres === null ? "" : parts("own.volume", { volume: litres.toFixed(2) });
  says.replaceChildren(...woven(jar.abv == null ? parts("own.says", words) : parts("own.says.strong", { ...words, abv: jar.abv.toFixed(1), volume })));
  setText(rests, [jar.withdrawn ? say("own.gone") : "", lot ? say("own.poured", { lot: lot.name }) : ""].filter(Boolean).join(" "));
  card ??= makeJarCard({ jar, run, zone, keeper, apart: true });
  card.show(jar, run);
  if (place.firstElementChild !== card.root) place.replaceChildren(card.root);
  drawTare(jar.number);
  drawWays(jar, run.batch);
  renew(kin, ...(found.doubts.length > 0 ? [make("h2", {}, say("balance.doubts")), drawDoubts(found.doubts)] : []), ...drawKin(found.graph));
}

function stock() {
  return found && "stock" in found ? found.stock : { lots: [], runs: [], vessels: [], batches: [], empties: [] };
}

/** @param {number} number */
function drawTare(number) {
  const known = stock().empties.find((one) => one.number === number);
  const words = { number, tare: known?.tare_kg ?? "", holds: known?.volume_l == null ? "" : say("tare.holds", { volume: known.volume_l }) };
  tare.replaceChildren(say(known?.tare_kg == null ? "tare.none" : "tare.says", words), " ", pressFor(say("tare.press"), () => desk.tare(number), "quiet"));
}

/** @param {JarRecord} jar @param {string} batch */
function drawWays(jar, batch) {
  ways.hidden = doing.childElementCount > 0;
  if (ways.childElementCount > 0) return;
  const here = { id: jar.id, name: say("own.name", { number: jar.number, batch }), kind: "jar", batch };
  const way = (/** @type {string} */ kind) => pressFor(say(`way.${kind}`), () => desk.transfer(kind, here));
  const { first, rest } = waysOf("jar");
  ways.append(...first.map(way), make("details", { class: "rest" }, make("summary", {}, say("lots.more")), make("span", { class: "deeds" }, ...rest.map(way))));
}

/** @param {HTMLElement} form */
function put(form) {
  doing.replaceChildren(form);
  draw();
  const first = doing.querySelector("input, select");
  if (first instanceof HTMLElement) first.focus();
}

function close() {
  doing.replaceChildren();
  draw();
}

const refresh = startPage("cellar", load, show);
followRecord(refresh);
