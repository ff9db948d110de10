// The batches: what is on, and each batch's own page with its story, its forms and its balance.

import "../shared/texts.js";
import "../record/texts.js";
import "../cellar/texts.js";
import "../lots/texts.js";
import "../run/texts.js";
import "./texts.js";
import { get, Refusal } from "../shared/api.js";
import { saidTime } from "../shared/clock.js";
import { find, keepList, make, setText } from "../shared/dom.js";
import { makeEntry, pressFor } from "../shared/entry.js";
import { makeFinder } from "../shared/finder.js";
import { startPage, woven } from "../shared/page.js";
import { uuid7 } from "../shared/uuid7.js";
import { parts, say } from "../texts.js";
import { followRecord, renew } from "../record/follow.js";
import { makeKeeper } from "../record/keeper.js";
import { withdrawEntry } from "../record/wishes.js";
import { makeDesk, mendsHere } from "../lots/desk.js";
import { drawPlan } from "../lots/plan.js";
import { figure } from "../run/format.js";
import { drawBalance } from "./balance.js";
import { filesOf } from "./files.js";
import { fittingKinds, KINDS, stageForm } from "./forms.js";
import { drawGlance } from "./glance.js";
import { nextForm } from "./next.js";
import { drawMade } from "./plan.js";
import { storyOf } from "./story.js";

const SORTS = ["began_at", "name", "bill_kg", "spirit_pure_alcohol_l", "yield_l_per_100_kg", "efficiency", "energy_kwh_per_l", "alarms"];
/** What of a batch stands in the list; the rest stands on its page. */
const SHOWN = /** @type {const} */ ([["spirit_pure_alcohol_l", 2, 1], ["yield_l_per_100_kg", 1, 1], ["efficiency", 0, 100]]);
const MOST = 500;
const WASHES = ["grain", "sugar", "fruit", "molasses", "other"];

/**
 * @typedef {object} Loaded
 * @property {(BatchRecord & {began_at: string})[]} batches
 * @property {OccupancyRecord[]} occupancies
 * @property {VesselRecord[]} vessels
 * @property {BatchesAnswer | null} found what was looked for among all of them
 * @property {BatchView | null} batch the one that has the page
 * @property {StagesRecord | null} stages
 * @property {RunRecord[]} runs
 * @property {LotRecord[]} lots of this batch
 * @property {ProofingRecord[]} plans of all lots that are brought to a strength
 * @property {import("../lots/desk.js").Stock} stock
 */

const NO_STOCK = { lots: [], runs: [], vessels: [], batches: [], empties: [] };

const wanted = new URLSearchParams(location.search).get("id");
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" });
const press = make("button", { type: "button", class: "press main", hidden: true });
const more = make("p", { class: "others" });
const doing = make("div", { class: "doing" });
const body = make("div", { class: "body" });
/** @type {Loaded | null} */
let loaded = null;
/** It is worked out over the whole book, so the story does not wait for it. @type {any} */
let balance = undefined;
/** So are the stages' numbers. @type {BatchStory | null} */
let glance = null;
/** The plan it was begun from. @type {FollowedPlan | null} */
let followed = null;
/** @type {import("../shared/page.js").Ground | null} */
let ground = null;
const keeper = makeKeeper({ refresh: () => void refresh(), redraw: () => draw(), zone: () => ground?.zone ?? "UTC", mend: (entry) => void mend(entry), mends: (entry) => entry.kind === "entry" || mendsHere(entry) });
const desk = makeDesk({ keeper, zone: () => ground?.zone ?? "UTC", stock: () => loaded?.stock ?? NO_STOCK, put, close });
const finder = makeFinder({
  name: "batches",
  label: say("batches.find"),
  filters: [
    { name: "kind_of_wash", label: say("batches.find.kind"), options: [["", say("finder.any")], ...WASHES.map((kind) => /** @type {[string, string]} */ ([kind, say(`batches.kind.${kind}`)]))] },
    { name: "holds", label: say("batches.find.holds"), options: [["any", say("finder.any")], ["now", say("batches.find.now")], ["none", say("batches.find.none")]] },
  ],
  sorts: SORTS.map((name) => [name, say(`batches.sort.${name}`)]),
  changed: () => void refresh(),
});
const nofit = make("p", { class: "hint", role: "status" });
find(document, "#main").append(make("section", { class: "home" }, keeper.root, says, rests, press, more, doing, body));

/** @returns {Promise<Loaded>} */
async function load() {
  const [batches, occupancies, vessels] = await Promise.all(["batches", "occupancies", "vessels"].map((path) => get(path)));
  const nothing = { found: null, batch: null, stages: null, runs: [], lots: [], plans: [], stock: NO_STOCK };
  if (!wanted) return { batches, occupancies, vessels, ...nothing, found: await get("reviews/batches", { ...finder.query(), limit: MOST }) };
  /** @type {BatchView | null} */
  const batch = await part(`batches/${encodeURIComponent(wanted)}`);
  if (!batch) return { batches, occupancies, vessels, ...nothing };
  const runs = batch.occupancies.filter(({ is_run }) => is_run).map(({ id }) => get(`runs/${id}`));
  void loadBalance(batch.id);
  void loadGlance(batch.id);
  const [stages, all, listed, plans, ...told] = await Promise.all([part(`batches/${batch.id}/stages`), get("lots"), get("runs"), get("proofings"), ...runs]);
  const stock = { lots: /** @type {LotRecord[]} */ (all), runs: /** @type {RunSummary[]} */ (listed), vessels, batches, empties: [] };
  return { batches, occupancies, vessels, found: null, batch, stages, lots: stock.lots.filter((lot) => lot.batch === batch.name), plans: /** @type {ProofingRecord[]} */ (plans), stock, runs: /** @type {RunRecord[]} */ (told) };
}

/** @param {string} id */
async function loadBalance(id) {
  try {
    balance = await part(`batches/${id}/balance`);
    draw();
  } catch (error) {
    console.info("the balance does not load; the page tries again as a whole", error);
  }
}

/** @param {string} id */
async function loadGlance(id) {
  try {
    [glance, followed] = await Promise.all([part(`reviews/batches/${id}`), part(`reviews/batches/${id}/follows`)]);
    draw();
  } catch (error) {
    console.info("the batch at a glance does not load; the page tries again as a whole", error);
  }
}

/** A part of the page that may be refused on its own. @param {string} path @returns {Promise<any>} */
async function part(path) {
  try {
    return await get(path);
  } catch (error) {
    if (error instanceof Refusal) return null;
    throw error;
  }
}

/** @param {Loaded} found @param {import("../shared/page.js").Ground} on */
function show(found, on) {
  loaded = found;
  ground = on;
  draw();
}

function draw() {
  if (!loaded || !ground) return;
  if (loaded.batch) drawOne(loaded.batch, loaded);
  else drawAll(loaded);
}

/** @param {string} at */
function time(at) {
  return saidTime(Date.parse(at), Date.now(), ground?.zone ?? "UTC");
}

/** @param {Loaded} found */
function drawAll({ batches, occupancies, vessels, found }) {
  const names = new Map(vessels.map(({ id, name }) => [id, name]));
  const on = occupancies.filter(({ ended_at, started_at }) => ended_at === null && Date.parse(started_at) <= Date.now());
  says.replaceChildren(...woven(wanted ? parts("batches.unknown") : sayingAll(on, names)));
  setText(rests, say("batches.rests"));
  setText(press, say("batches.press"));
  press.hidden = doing.childElementCount > 0;
  links([["vessels.html", "batches.to.vessels"], ["cellar.html", "batches.to.cellar"], ["stock.html", "batches.to.stock"], ["runs.html", "batches.to.runs"]]);
  if (!finder.root.isConnected && batches.length > 1) body.before(finder.root, nofit);
  const shown = found?.batches ?? batches.map((batch) => ({ ...batch, stage: null, runs: 0, numbers: {} }));
  setText(nofit, found && found.total === 0 && finder.active() ? say("batches.nofit") : "");
  const list = body.querySelector("ul") ?? body.appendChild(make("ul", { class: "wire" }));
  keepList(list, shown, ({ id }) => id, ({ id }) => make("li", {}, make("a", { class: "knot", href: `batches.html?id=${id}` }, make("span", { class: "name" }), make("span", { class: "about" }), make("span", { class: "state" }, make("span", { class: "now" }), make("span", { class: "numbers" })))), (item, batch) => {
    const held = on.filter((one) => one.batch === batch.name);
    setText(find(item, ".name"), batch.name);
    setText(find(item, ".about"), say(`batches.kind.${batch.kind_of_wash}`));
    const where = held.map((one) => say("batches.stage", { stage: say(`stage.${one.stage}`), vessel: names.get(one.vessel_id) ?? "" })).join(", ");
    setText(find(item, ".numbers"), numbersOf(batch.numbers));
    setText(find(item, ".now"), [where || say("batches.over"), say("batches.began", { time: time(batch.began_at) }), batch.note].filter(Boolean).join(" · "));
    item.className = held.length > 0 ? "" : "free";
  });
}

/** What came of a batch, as far as it is known. @param {Record<string, number | null>} numbers */
function numbersOf(numbers) {
  return SHOWN.flatMap(([name, decimals, times]) => {
    const value = numbers[name];
    return value == null ? [] : [say(`batches.number.${name}`, { value: figure(value * times, decimals) })];
  }).join(", ");
}

/** @param {OccupancyRecord[]} on @param {Map<string, string>} names */
function sayingAll(on, names) {
  const [first] = on;
  if (!first) return parts("batches.says.none");
  const words = (/** @type {OccupancyRecord} */ one) => ({ batch: one.batch, stage: say(`stage.${one.stage}`), vessel: names.get(one.vessel_id) ?? "" });
  if (on.length === 1) return parts("batches.says.one", { batch: first.batch, where: parts("batches.where.one", words(first)) });
  const count = new Set(on.map(({ batch }) => batch)).size;
  return parts(count === 1 ? "batches.says.one" : "batches.says", { batch: first.batch, count, where: say("batches.where", { list: on.map((one) => say("batches.where.each", words(one))).join(", ") }) });
}

/** @param {BatchView} batch */
function standing(batch) {
  return batch.occupancies.findLast(({ ended_at, started_at }) => ended_at === null && Date.parse(started_at) <= Date.now()) ?? null;
}

/** @param {BatchView} batch @param {Loaded} found */
function drawOne(batch, { stages, runs, plans }) {
  const lots = desk.lots().filter((lot) => lot.batch === batch.name);
  const held = standing(batch);
  const now = held ? parts("batch.says.now", { stage: say(`stage.${held.stage}`), vessel: held.vessel ?? "", time: time(held.started_at) }) : say("batch.says.over");
  says.replaceChildren(...woven(parts("batch.says", { name: batch.name, now })));
  document.title = `${batch.name} · ${say("app.name")}`;
  setText(rests, [held?.stage === "ferment" ? (stages?.ferment?.sentence ?? "") : "", expectedText(stages), batch.note].filter(Boolean).join(" "));
  const [main = "gravity", ...others] = fittingKinds(held?.stage ?? null);
  setText(press, say(`entry.kind.${main}`));
  press.dataset.kind = main;
  press.hidden = doing.childElementCount > 0;
  more.hidden = press.hidden;
  const rest = KINDS.filter((kind) => kind !== main && !others.includes(kind));
  if (more.dataset.held !== `${held?.id} ${lots.length}`) {
    more.dataset.held = `${held?.id} ${lots.length}`;
    more.replaceChildren(
      ...others.map((kind) => pressFor(say(`entry.kind.${kind}`), () => void open(kind))),
      ...(toStrength(lots).length > 0 ? [pressFor(say("plan.begin.lot"), () => desk.proof(toStrength(desk.lots().filter((lot) => lot.batch === batch.name))))] : []),
      pressFor(say("lots.add.press"), () => desk.lot(null, batch.name)),
      make("details", { class: "rest" }, make("summary", {}, say("batch.more")), make("span", { class: "deeds" }, ...rest.map((kind) => pressFor(say(`entry.kind.${kind}`), () => void open(kind))))),
      pressFor(say("next.press"), () => void beginNext(batch)),
      pressFor(say("batch.change"), () => loaded?.batch && correctBatch(loaded.batch), "quiet"),
      make("a", { class: "quiet", href: `api/reviews/batches/${batch.id}/report.html`, download: `${batch.name}.html` }, say("run.report")),
      make("a", { class: "quiet", href: `api/reviews/batches/${batch.id}/data.json`, download: `${batch.name}.json` }, say("run.data")),
      make("a", { class: "quiet", href: "batches.html" }, say("batches.back")),
    );
  }
  const story = storyOf(batch, stages, runs, keeper.entries(), time, ground?.unit ?? "C");
  renew(body,
    ...plans.flatMap((plan) => lots.filter(({ id }) => id === plan.lot_id).flatMap((lot) => [make("h2", {}, say("plan.of", { name: lot.name })), drawPlan(plan, { time, desk, lot })])),
    ...(glance ? [make("h2", {}, say("glance.title")), drawGlance(glance, time)] : []),
    ...(followed?.plan ? [make("details", { class: "begunfrom" }, make("summary", {}, say("glance.plan", { name: followed.plan.batch })), drawMade(followed.plan, ground?.unit ?? "C"))] : []),
    make("h2", {}, say("batch.balance")),
    balance ? drawBalance(balance) : make("p", { class: "hint" }, say(balance === undefined ? "batch.balance.waiting" : "batch.balance.none")),
    make("h2", {}, say("batch.story")),
    story.length === 0 ? make("p", { class: "hint" }, say("batch.story.none")) : make("ul", { class: "wire story" }, ...story.map((one) => chapter(one, batch))),
    ...(lots.length > 0 ? [make("h2", {}, say("batch.came")), make("ul", { class: "lots" }, ...lots.map(lotLine))] : []),
    make("h2", {}, say("run.files")),
    filesOf(batch),
  );
}

/** @param {StagesRecord | null} stages */
function expectedText(stages) {
  const expected = stages?.expected;
  if (!stages || !expected) return "";
  const { pure_alcohol_l, pure_alcohol_low_l, pure_alcohol_high_l, abv } = expected;
  return say("batch.expected", { bill: stages.bill_kg.toFixed(1), alcohol: pure_alcohol_l.toFixed(1), low: pure_alcohol_low_l.toFixed(1), high: pure_alcohol_high_l.toFixed(1), abv: abv.toFixed(1) });
}

/** @param {import("./story.js").Chapter} one @param {BatchView} batch */
function chapter({ at_ms, title, about, value, entry, href, waiting }, batch) {
  const when = saidTime(at_ms, Date.now(), ground?.zone ?? "UTC");
  const deeds = entry
    ? [pressFor(say("batch.correct"), () => void open(entry.kind, entry), "quiet"), pressFor(say("batch.takeback"), () => void keeper.enter(withdrawEntry(entry, batch.name, say("batch.taken", { what: title }))), "quiet")]
    : href ? [make("a", { class: "quiet", href }, say("batch.to.run"))] : [];
  return make("li", { class: waiting ? "open" : null }, make("div", { class: "knot" },
    make("span", { class: "name" }, title), make("span", { class: "value" }, value), make("span", { class: "about" }, when),
    make("span", { class: "state" }, about, ...deeds)));
}

/** Those that can be brought to a strength. @param {readonly LotRecord[]} lots */
function toStrength(lots) {
  return lots.filter(({ kind, now }) => ["spirit", "blend", "cask"].includes(kind) && now?.volume_l !== 0);
}

/** @param {LotRecord} lot */
function lotLine({ id, name, kind, now }) {
  const called = make("span", {}, make("a", { href: `lot.html?id=${id}` }, name || say(`lot.${kind}`)), " ", make("small", {}, say(`lot.${kind}`)));
  if (now?.volume_l === 0) return make("li", {}, called, make("small", {}, say("batch.gone")));
  const amounts = now?.volume_l == null ? say("cellar.lot.unknown") : [say("cellar.lot.amount", { volume: now.volume_l.toFixed(1) }), now.abv === null ? "" : say("cellar.lot.strong", { abv: now.abv.toFixed(1) }), now.pure_alcohol_l === null ? "" : say("cellar.lot.alcohol", { alcohol: now.pure_alcohol_l.toFixed(2) })].filter(Boolean).join(", ");
  return make("li", {}, called, make("b", {}, amounts));
}

/** @param {[string, string][]} to */
function links(to) {
  if (more.childElementCount === 0) more.append(...to.map(([href, key]) => make("a", { class: "quiet", href }, say(key))));
}

/** @param {HTMLElement} form */
function put(form) {
  doing.replaceChildren(form);
  draw();
  const first = doing.querySelector("input, select, button");
  if (first instanceof HTMLElement) first.focus();
}

function close() {
  doing.replaceChildren();
  draw();
}

/** A form of a batch's stage. @param {string} kind @param {EntryRecord} [entry] the one to correct @param {import("../shared/queue.js").Waiting} [refused] the one to put right */
async function open(kind, entry, refused) {
  const batch = loaded?.batch;
  if (!batch || !ground) return;
  const label = say(`entry.kind.${kind}`);
  put(await stageForm({
    kind, zone: ground.zone, lots: loaded?.lots ?? [], start: refused ? (refused.body.said ?? refused.body) : entry, cancel: close,
    act: async (said) => {
      const vessel_id = entry ? entry.vessel_id : vesselAt(batch, Date.parse(said.at));
      const whole = { batch: batch.name, ...(vessel_id ? { vessel_id } : {}), ...said };
      if (refused) await (await keeper.queue).mend(refused.id, refused.body.said ? { said: whole } : whole);
      else if (entry) await keeper.submit({ kind: "entry", subject: entry.id, scope: batch.name, method: "PUT", path: `entries/${entry.id}`, body: { version: entry.version, said: whole }, label });
      else await keeper.submit({ kind: "entry", scope: batch.name, method: "POST", path: "entries", body: whole, label });
      close();
    },
  }));
}

/** @param {BatchView} batch */
async function beginNext(batch) {
  try {
    put(await nextForm({ batch, zone: ground?.zone ?? "UTC", unit: ground?.unit ?? "C", cancel: close }));
  } catch (error) {
    console.info("the plan does not load", error);
    put(make("p", { class: "trouble", role: "alert" }, error instanceof Refusal ? error.message : say("entry.silent"), " ", pressFor(say("entry.cancel"), close)));
  }
}

/** The vessel a batch was in when something was done; what is entered later belongs there all the same. @param {BatchView} batch @param {number} at_ms */
function vesselAt({ occupancies }, at_ms) {
  const held = occupancies.findLast(({ started_at, ended_at }) => Date.parse(started_at) <= at_ms && (ended_at === null || at_ms < Date.parse(ended_at)));
  return held?.vessel_id ?? null;
}

/** @param {import("../shared/queue.js").Waiting} entry */
async function mend(entry) {
  if (entry.kind === "entry") await open((entry.body.said ?? entry.body).kind, undefined, entry);
  else desk.mend(entry);
}

/** What is said of a batch. @param {BatchRecord | null} batch @returns {import("../shared/entry.js").Field[]} */
function batchFields(batch) {
  const solids = /** @type {[string, string][]} */ (["", "true", "false"].map((each) => [each, say(`batches.solids.${each || "unsaid"}`)]));
  return [
    { name: "name", label: say("batches.name"), value: batch?.name ?? "" },
    { name: "kind_of_wash", label: say("batches.kind"), kind: "choice", value: batch?.kind_of_wash ?? "grain", choices: WASHES.map((wash) => /** @type {[string, string]} */ ([wash, say(`batches.kind.${wash}`)])) },
    { name: "on_grain", label: say("batches.solids"), kind: "choice", value: String(batch?.on_grain ?? ""), choices: solids, hint: say("batches.solids.hint") },
    { name: "note", label: say("batches.note"), kind: "long", value: batch?.note ?? "", blank: true, more: true },
  ];
}

/** @param {import("../shared/entry.js").Entered} values */
function batchSaid({ on_grain, ...values }) {
  return { ...values, on_grain: on_grain === null ? null : on_grain === "true" };
}

function begin() {
  put(makeEntry({
    key: "batch", zone: ground?.zone ?? "UTC", submit: say("batches.add"), cancel: close, fields: batchFields(null),
    act: async (values) => {
      await keeper.submit({ id: uuid7(), kind: "batch", method: "POST", path: "batches", body: batchSaid(values), label: say("batches.begun", { name: String(values.name) }) });
      close();
    },
  }));
}

/** @param {BatchView} batch */
function correctBatch(batch) {
  put(makeEntry({
    key: "batch", zone: ground?.zone ?? "UTC", submit: say("batch.change.keep"), cancel: close, fields: batchFields(batch),
    act: async (values) => {
      await keeper.submit({ kind: "batch", subject: batch.id, method: "PUT", path: `batches/${batch.id}`, body: { ...batchSaid(values), version: batch.version }, label: say("batch.changed", { name: String(values.name) }) });
      close();
    },
  }));
}

press.addEventListener("click", () => (press.dataset.kind ? void open(press.dataset.kind) : begin()));
const refresh = startPage("batches", load, show);
followRecord(refresh);
