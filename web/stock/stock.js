// The stock book: what stood, came, went and stands, for a period; locks and corrections.

import "../shared/texts.js";
import "../record/texts.js";
import "../batches/texts.js";
import "../cellar/texts.js";
import "../lots/texts.js";
import "./texts.js";
import { apiUrl, get, serviceNow } from "../shared/api.js";
import { instantOf, saidTime, wallOf, wholeTime } from "../shared/clock.js";
import { find, make, setText } from "../shared/dom.js";
import { makeEntry, pressFor, problemText } from "../shared/entry.js";
import { startPage, woven } from "../shared/page.js";
import { parts, say } from "../texts.js";
import { drawDoubts } from "../batches/balance.js";
import { followRecord, renew } from "../record/follow.js";
import { makeKeeper } from "../record/keeper.js";
import { drawBook, stepText } from "./book.js";

/** @typedef {import("../shared/queue.js").Waiting} Waiting */
/** @typedef {{book: import("./book.js").Book, lots: LotRecord[]}} Loaded */

const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const periods = make("div", { class: "periods" });
const table = make("div");
const deeds = make("div", { class: "deeds" });
const doing = make("div", { class: "doing" });
const keeper = makeKeeper({ refresh: () => void refresh(), redraw: () => {}, zone: () => ground?.zone ?? "UTC", mend: (entry) => void mend(entry), mends: mendsHere });
find(document, "#main").append(make("section", { class: "home" }, keeper.root, says, rests, periods, table, deeds, doing));

/** What is asked for; empty is the beginning, or now. @type {{from?: string, to?: string}} */
let period = {};
/** @type {Loaded | null} */
let loaded = null;
/** @type {import("../shared/page.js").Ground | null} */
let ground = null;

/** @returns {Promise<Loaded>} */
async function load() {
  const [book, lots] = await Promise.all([get("stock", period), get("lots")]);
  return { book: /** @type {any} */ (book), lots: /** @type {any} */ (lots) };
}

/** @param {Loaded} found @param {import("../shared/page.js").Ground} on */
function show(found, on) {
  loaded = found;
  ground = on;
  const { book } = found;
  const site = book.rows.at(-1);
  const empty = !site || (site.closing.volume_l === 0 && site.closing.pure_alcohol_l === 0 && book.rows.length < 2);
  says.replaceChildren(...woven(empty || !site ? parts("stock.says.none") : parts("stock.says", { alcohol: site.closing.pure_alcohol_l.toFixed(2), volume: site.closing.volume_l.toFixed(1) })));
  const lock = book.locked_until ? say("stock.locked", { time: time(book.locked_until) }) : say("stock.unlocked");
  setText(rests, [say("stock.rests"), book.left_out > 0 ? say("stock.leftout", { count: book.left_out }) : "", lock].filter(Boolean).join(" "));
  if (periods.childElementCount === 0) drawPeriods(on.zone);
  const words = { from: period.from ? time(period.from) : "", to: time(book.to_at) };
  renew(table, drawBook(book, say(period.from ? "stock.table" : "stock.table.all", words)), ...(book.doubts.length > 0 ? [make("h2", {}, say("balance.doubts")), drawDoubts(book.doubts)] : []));
  renew(deeds,
    make("a", { class: "press", href: apiUrl("stock.csv", period), download: "" }, say("stock.csv")),
    pressFor(say("stock.lock"), () => lockForm()), pressFor(say("stock.correct"), correctFirst),
    make("a", { class: "quiet", href: "cellar.html" }, say("batches.to.cellar.short")));
}

/** @param {string} at */
function time(at) {
  return saidTime(Date.parse(at), Date.now(), ground?.zone ?? "UTC");
}

/** @param {string} zone */
function drawPeriods(zone) {
  const { y, mo } = wallOf(Date.now(), zone);
  const first = (/** @type {number} */ month) => new Date(instantOf(zone, y, month, 1)).toISOString();
  periods.append(
    choice("stock.all", {}), choice("stock.month", { from: first(mo) }), choice("stock.before", { from: first(mo - 1), to: first(mo) }),
    make("details", {}, make("summary", {}, say("stock.period")), makeEntry({
      key: "period", zone, submit: say("stock.show"), plain: true,
      fields: [{ name: "from", label: say("stock.from"), kind: "time", hint: say("stock.from.hint") }, { name: "to", label: say("stock.to"), kind: "time", hint: say("stock.to.hint") }],
      act: async ({ from, to }) => ask({ ...(from ? { from: String(from) } : {}), ...(to ? { to: String(to) } : {}) }),
    })));
}

/** @param {string} key @param {{from?: string, to?: string}} wanted */
function choice(key, wanted) {
  return pressFor(say(key), () => void ask(wanted).catch(() => refresh()));
}

/** @param {{from?: string, to?: string}} wanted */
async function ask(wanted) {
  await get("stock", wanted); // a period that is refused says so at its field
  period = wanted;
  await refresh();
}

/** @param {Waiting} [refused] the one to put right */
function lockForm(refused) {
  const start = refused?.body ?? {};
  put(makeEntry({
    key: "lock", zone: ground?.zone ?? "UTC", submit: say("stock.lock.go"), cancel: close,
    lead: [make("p", { class: "hint" }, say("stock.lock.rests"))],
    fields: [{ name: "until", label: say("stock.lock.until"), kind: "time", value: start.until }, { name: "note", label: say("stock.lock.note"), blank: true, value: start.note }],
    act: async (values) => {
      const until = values.until ? wholeTime(Date.parse(String(values.until)), ground?.zone ?? "UTC") : "";
      await give({ kind: "lock", method: "POST", path: "stock/locks", body: values, label: say("stock.lock.done", { time: until }) }, refused);
    },
  }));
}

function correctFirst() {
  const lots = loaded?.lots ?? [];
  put(makeEntry({
    key: "correct-lot", zone: ground?.zone ?? "UTC", submit: say("stock.correct.next"), cancel: close,
    fields: [{ name: "lot_id", label: say("stock.correct.lot"), kind: "choice", value: lots[0]?.id ?? "", choices: lots.map(({ id, name, kind }) => /** @type {[string, string]} */ ([id, name || say(`lot.${kind}`)])) }],
    act: async ({ lot_id }) => correctForm(String(lot_id)),
  }));
}

/** @param {string} lot_id @param {Waiting} [refused] the one to put right */
async function correctForm(lot_id, refused) {
  const start = refused?.body ?? {};
  /** @type {{steps: {at: string, source_id: string, way: string, change: {volume_l: number}}[]}} */
  const { steps } = await get(`lots/${lot_id}/balance`);
  const number = (/** @type {string} */ name, /** @type {string} */ label, /** @type {string} */ unit) => ({ name, label: say(label), kind: /** @type {const} */ ("number"), unit, value: start[name] });
  put(makeEntry({
    key: "correct", zone: ground?.zone ?? "UTC", submit: say("stock.correct.go"), cancel: close,
    fields: [
      { name: "corrects", label: say("stock.correct.entry"), kind: "choice", value: start.corrects ?? steps[0]?.source_id ?? "", choices: steps.map(({ at, source_id, way, change }) => /** @type {[string, string]} */ ([source_id, stepText(way, change.volume_l, time(at))])) },
      { name: "why", label: say("stock.correct.why"), kind: "long", value: start.why },
      number("volume_l", "stock.correct.volume", "L"), number("reading_abv", "stock.correct.reading", "%"), number("temperature_c", "stock.correct.temperature", "°C"),
    ],
    act: async (values) => {
      await give({ kind: "correction", scope: lot_id, method: "POST", path: "stock/corrections", body: { lot_id, ...values, at: new Date(serviceNow()).toISOString() }, label: say("stock.correct.done") }, refused);
    },
  }));
}

/** Enter it; what was refused goes once this is taken. @param {import("../shared/waiting.js").Wish} wish @param {Waiting} [refused] */
async function give(wish, refused) {
  await keeper.submit(wish);
  if (refused) await (await keeper.queue).drop(refused.id);
  close();
}

/** @param {Waiting} entry */
function mendsHere({ kind }) {
  return kind === "lock" || kind === "correction";
}

/** Opens what was refused again. @param {Waiting} entry */
async function mend(entry) {
  if (entry.kind === "lock") return lockForm(entry);
  try {
    await correctForm(entry.body.lot_id, entry);
  } catch (error) {
    doing.replaceChildren(make("p", { class: "trouble", role: "alert" }, problemText(error)));
  }
}

/** @param {HTMLElement} form */
function put(form) {
  doing.replaceChildren(form);
  const first = form.querySelector("input, select");
  if (first instanceof HTMLElement) first.focus();
}

function close() {
  doing.replaceChildren();
}

const refresh = startPage("stock", load, show);
followRecord(refresh);
