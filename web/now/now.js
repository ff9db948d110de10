// The live page: joins what is known (reduce.js) with what shows it (the mounts) and with the
// service. Nouns go down to the mounts; verbs come up from them.

import { asOf, get } from "../shared/api.js";
import { find, make, on, setAttributes, tell } from "../shared/dom.js";
import { mountHeader } from "../shared/header.js";
import { followLook, look, showTheme } from "../shared/look.js";
import { keepShell } from "../shared/shell.js";
import { say } from "../texts.js";
import { mountControls, mountVessels } from "./controls.js";
import { mountHead, mountNotices } from "./head.js";
import { isStale } from "./health.js";
import { withNamed } from "./lines.js";
import { listen } from "./link.js";
import { makeLoader } from "./loader.js";
import { firstState, reduce } from "./reduce.js";
import { keepRoomFor, keepRoomOfBefore } from "./room.js";
import { mountSheet } from "./sheet.js";
import { mountTable } from "./table.js";
import { title } from "./sentence.js";

const VERBS = /** @type {const} */ (["move", "zoom", "range", "follow", "start", "alone", "vessel", "form"]);
const TICK_MS = 1000;
const CHECK_MS = 10_000;
const RETRY_MS = 2000;
const RECORD_AT_LAST_MS = 4000; // what did not come at once is tried again, without a chart too

const page = document.body;
const header = find(page, "#header");
const main = find(page, "#main");
const sheetRoot = find(main, "#sheet");
const record = find(page, "#record");
const estimates = find(main, "#estimates");
const told = [...["#head", "#notices", "#estimates", "#vessels", "#sheet", "#table", "#controls"].map((id) => find(main, id)), record];

let state = firstState(Date.now());
let announced = false;
let again = 0;
let ticked = { wall: Date.now(), steady: performance.now() };
/** @type {{reconnect: () => void} | null} */
let line = null;

/** @param {import("./reduce.js").Happening} event */
function happen(event) {
  const before = state;
  state = reduce(state, event);
  if (state.site && state.site !== before.site) tell([header], "site", state.site);
  loader.consider();
  if (announced) return;
  announced = true;
  queueMicrotask(announce);
}

function announce() {
  announced = false;
  const unit = look().unit === "site" ? (state.site?.temperature_unit ?? "C") : look().unit;
  const zone = state.site?.time_zone ?? Intl.DateTimeFormat().resolvedOptions().timeZone;
  const table = state.form === "table";
  find(main, "#table").hidden = !table;
  sheetRoot.hidden = table;
  document.title = title(state, unit === "F" ? "F" : "C");
  main.classList.toggle("simulated", state.site?.simulated ?? false);
  tell(told, "state", { state, unit, zone });
}

/** Everything afresh: at start, after a break, when places have changed. */
async function load() {
  try {
    const [site, live, places, vessels] = await Promise.all(["site", "live", "places", "vessels"].map((path) => get(path)));
    happen({ name: "site", site });
    tick(); // the service's clock counts on from here
    happen({ name: "live", live: withNamed(agedLive(live), places, vessels) });
    if (asOf(live) !== null) throw new Error("this is what was known last");
    happen({ name: "link", phase: "open" });
    if (line) loader.reload();
    line ??= listen(ears, live.event_id);
    lead(places.length === 0);
    happen({ name: "pressure", pressure: await get("pressure") });
  } catch (error) {
    console.info("the service does not answer; trying again", error);
    happen({ name: "link", phase: "lost" });
    clearTimeout(again);
    again = window.setTimeout(load, RETRY_MS);
  }
}

/** What was read last, where it comes from this browser's memory, is as old as it is. @param {LiveState} live */
function agedLive(live) {
  const as_of = asOf(live);
  if (as_of === null) return live;
  const now_ms = Date.now();
  return { ...live, now_ms, age_s: (live.age_s ?? 0) + (now_ms - as_of) / 1000 };
}

/** A newcomer, whose house has no place yet, is led to the guide. @param {boolean} wanted */
function lead(wanted) {
  const root = find(main, "#lead");
  root.hidden = !wanted;
  root.replaceChildren(make("a", { class: "press main", href: "guide.html" }, say("lead.guide")));
}

const ears = {
  /** @param {ScanMessage} scan */
  scan(scan) {
    const slower = state.live !== null && scan.period_s !== state.live.period_s;
    happen({ name: "scan", scan });
    if (slower) void load(); // how old a reading may be goes by the cadence
  },
  again: () => void load(),
  record: () => tell([record], "record", null),
  open: () => {
    if (state.link.phase !== "open") void load();
  },
  lost: () => happen({ name: "link", phase: "lost" }),
};

/** By the wall clock and the steady clock, whichever went further: one may step, one may sleep. */
function tick() {
  const [wall, steady] = [Date.now(), performance.now()];
  const elapsed_ms = Math.max(wall - ticked.wall, steady - ticked.steady);
  ticked = { wall, steady };
  happen({ name: "tick", elapsed_ms });
}

/** Now by the service's clock, to the moment. */
function moment() {
  tick();
  return state.now_ms;
}

function startRest() {
  void startEstimates();
  void startRecord();
}

let recording = false;

/** The record is laid down while the chart library is still being compiled; tried again with the next drawing. */
async function startRecord() {
  if (recording) return;
  recording = true;
  const rules = make("link", { rel: "stylesheet", href: new URL("../record/record.css?whole", import.meta.url).href });
  const ruled = new Promise((resolve) => ["load", "error"].forEach((end) => rules.addEventListener(end, resolve)));
  document.head.append(rules);
  const first = get("record/now").catch(() => null); // asked for again where it does not come
  try {
    const { mountRecord } = await import("../record/live.js");
    await ruled;
    await mountRecord({ root: record, sheet: sheetRoot, moment, first });
  } catch (error) {
    console.info("the record did not come; it is tried again with the next drawing", error);
    rules.remove();
    recording = false;
    return;
  }
  announce();
  keepShell();
  void startBehind(first);
}

/** Last of all, the run that was pinned as the reference; without it the sheet is whole. @param {Promise<any>} first */
async function startBehind(first) {
  try {
    const { mountBehind } = await import("./behind.js");
    await mountBehind({ record, sheet: sheetRoot, draw: (lines) => sheet.putBehind(lines), zone: () => state.site?.time_zone ?? "UTC", first });
  } catch (error) {
    console.info("the reference run did not come", error);
  }
}

let estimating = false;

/** Asked for at once, to keep their room: a sheet that moves under a thumb loses its touch. @type {Promise<EstimatesMessage | null> | null} */
let estimated = get("estimates").catch(() => null);
void estimated.then((message) => message && keepRoomFor(estimates, message.vessels.length));

/** So do the estimates, into the room that is kept for them. */
async function startEstimates() {
  if (estimating) return;
  estimating = true;
  const rules = make("link", { rel: "stylesheet", href: new URL("../estimates/estimates.css", import.meta.url).href });
  const ruled = new Promise((resolve) => ["load", "error"].forEach((end) => rules.addEventListener(end, resolve)));
  document.head.append(rules);
  const first = estimated ?? get("estimates").catch(() => null); // asked for again where it does not come
  estimated = null;
  try {
    const { mountEstimates } = await import("../estimates/estimates.js");
    await ruled;
    await mountEstimates({ root: estimates, sheet: sheetRoot, first, opened: state.link.phase === "open" });
  } catch (error) {
    console.info("the estimates did not come; they are tried again with the next drawing", error);
    rules.remove();
    estimating = false;
    return;
  }
  announce();
}

/** A line that stands but brings nothing may be dead without the browser knowing (sleep does it). */
function checkLine() {
  if (state.live && state.link.phase === "open" && isStale(state.live)) {
    line?.reconnect();
    void load();
  }
}

/** @returns {Promise<Plotly | null>} */
function library() {
  const script = find(document, "#plotly");
  return new Promise((resolve) => {
    if (window.Plotly || "failed" in script.dataset) resolve(window.Plotly ?? null);
    script.addEventListener("load", () => resolve(window.Plotly ?? null));
    script.addEventListener("error", () => resolve(null));
  });
}

const plotly = library();
followLook();
mountHeader(header, "now");
mountHead(find(main, "#head"));
mountNotices(find(main, "#notices"), plotly);
mountVessels(find(main, "#vessels"));
keepRoomOfBefore(estimates);
for (const id of ["#sheet", "#table"]) setAttributes(find(main, id), { "aria-label": say("sheet.label") });
mountTable(find(main, "#table"));
mountControls(find(main, "#controls"));
const sheet = mountSheet(sheetRoot, plotly);
const loader = makeLoader({ state: () => state, happen, pixels: () => sheet.pixels(), library: plotly });

for (const verb of VERBS) on(main, verb, (/** @type {any} */ detail) => happen({ name: verb, ...detail }));
document.addEventListener("look", announce);
on(main, "drawn", startRest);
setTimeout(startRest, RECORD_AT_LAST_MS);

void loader.begin();
void load();
startRest();
setInterval(tick, TICK_MS);
setInterval(checkLine, CHECK_MS);
document.addEventListener("visibilitychange", () => {
  tick();
  checkLine();
});

addEventListener("beforeprint", () => {
  document.documentElement.classList.add("printing");
  showTheme("light");
  sheet.paint();
});
addEventListener("afterprint", () => {
  document.documentElement.classList.remove("printing");
  showTheme(null);
});
