// How the numbers of runs and batches went from one to the next: small charts, and tables.

import "../shared/texts.js";
import "../run/texts.js";
import "../runs/texts.js";
import "./texts.js";
import { get, Refusal } from "../shared/api.js";
import { dayAndMonth, wholeTime, year } from "../shared/clock.js";
import { find, make, setText } from "../shared/dom.js";
import { startPage, woven } from "../shared/page.js";
import { degrees, degreesApart, unitSign } from "../shared/units.js";
import { parts, say } from "../texts.js";
import { figure, folded, keyed, signed, tableOf } from "../run/format.js";
import { gapsList, section } from "../run/sections.js";
import { linesOf, standsAt } from "./drift.js";
import { spark } from "./spark.js";

const RUN_KEYS = ["recovered", "foreshots_volume_l", "heads_volume_l", "hearts_volume_l", "tails_volume_l", "hearts_abv", "energy_kwh_per_l", "alarms"];
const BATCH_KEYS = ["yield_l_per_100_kg", "efficiency", "spirit_pure_alcohol_l", "hearts_pure_alcohol_l", "energy_kwh_per_l", "alarms"];
const PURPOSES = ["spirit", "strip", "single", "botanical", "feints", "cleaning", "sacrificial"];
const USUAL = "spirit";

/** @typedef {import("../shared/page.js").Ground} Ground */
/** @typedef {import("../shared/units.js").Unit} Unit */
/** @typedef {{found: Trends, vessels: VesselRecord[]}} Loaded */
/** @typedef {import("./spark.js").Point} Point */

const NOTHING = /** @type {Trends} */ ({ keys: [], runs: [], batch_keys: [], batches: [], coolant_limit_c: null, drift: [], gaps: [] });

const asked = new URLSearchParams(location.search);
const says = make("h1", { class: "says" });
const rests = make("p", { class: "rests" }, say("trends.rests"));
const links = make("p", { class: "others" }, make("a", { class: "quiet", href: "runs.html" }, say("run.list")));
const vessel = make("select", { id: "vessel" });
const purpose = make("select", { id: "purpose" }, ...["", ...PURPOSES].map((each) => make("option", { value: each }, each ? say(`purpose.${each}`) : say("runs.any"))));
const choices = make("div", { class: "choices" }, make("p", {}, make("label", { for: "vessel" }, say("trends.vessel")), vessel), make("p", {}, make("label", { for: "purpose" }, say("trends.purpose")), purpose));
const trouble = make("p", { class: "trouble", role: "alert" });
const body = make("div");
find(document, "#main").append(make("section", { class: "home" }, says, rests, links, choices, trouble, body));
purpose.value = asked.get("purpose") ?? USUAL;
let wanted = asked.get("vessel_id") ?? "";

/** @returns {Promise<Loaded>} */
async function load() {
  const query = Object.fromEntries(Object.entries({ vessel_id: vessel.value || wanted, purpose: purpose.value }).filter(([, value]) => value));
  const vessels = get("vessels");
  try {
    /** @type {Trends} */
    const found = await get("reviews/trends", query);
    trouble.textContent = "";
    return { found, vessels: await vessels };
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    trouble.textContent = error.message;
    return { found: NOTHING, vessels: await vessels };
  }
}

/** @param {Loaded} loaded @param {Ground} ground */
function show({ found, vessels }, { zone, unit }) {
  const chosen = vessel.value || wanted;
  wanted = "";
  vessel.replaceChildren(make("option", { value: "" }, say("runs.any")), ...vessels.filter(({ kind }) => kind === "still").map(({ id, name }) => make("option", { value: id }, name)));
  vessel.value = chosen;
  const count = found.runs.length;
  says.replaceChildren(...woven(parts(count === 0 ? "trends.says.none" : count === 1 ? "trends.says.one" : "trends.says", { count })));
  const day = (/** @type {string} */ at) => `${dayAndMonth(Date.parse(at), zone)} ${year(Date.parse(at), zone)}`;
  body.replaceChildren(
    section(say("trends.runs"), grid([...RUN_KEYS.map((name) => ofRuns(found, name, day)), margin(found, day, unit)])),
    section(say("trends.batches"), grid(BATCH_KEYS.map((name) => ofBatches(found, name, day)))),
    section(say("trends.drift"), make("p", { class: "hint" }, say("trends.drift.rests")), grid(drifts(found, day, unit)), ...(found.drift.length === 0 ? [make("p", { class: "hint" }, say("trends.drift.none"))] : [])),
    section(say("run.gaps"), gapsList(found.gaps)),
    section(say("trends.table"), ...tables(found, zone, unit)),
  );
}

/** @param {(HTMLElement | null)[]} charts */
function grid(charts) {
  const there = charts.filter((each) => each !== null);
  return make("div", { class: "sparks" }, ...there);
}

/** @param {Trends} found @param {string} name @param {(at: string) => string} day */
function ofRuns({ keys, runs }, name, day) {
  const key = keys.find((each) => each.name === name);
  if (!key) return null;
  return spark(key, runs.flatMap(({ run }) => point(key, run.numbers[name], day(run.started_at), run.batch)));
}

/** @param {Trends} found @param {string} name @param {(at: string) => string} day */
function ofBatches({ batch_keys, batches }, name, day) {
  const key = batch_keys.find((each) => each.name === name);
  if (!key) return null;
  return spark(key, batches.flatMap((batch) => point(key, batch.numbers[name], day(batch.began_at), batch.name)));
}

/** @param {Trends} found @param {(at: string) => string} day @param {Unit} unit */
function margin({ runs, coolant_limit_c }, day, unit) {
  const key = { name: "coolant_margin_k", label: say("trends.margin"), unit: unitSign(unit), decimals: 1 };
  const points = runs.flatMap(({ run, coolant_margin_k }) => point(key, apart(coolant_margin_k, unit), day(run.started_at), run.batch));
  return spark(key, points, coolant_limit_c === null ? "" : say("trends.margin.rests", { limit: figure(degrees(coolant_limit_c, unit), 0), unit: unitSign(unit) }));
}

/** A chart for each probe at each place. @param {Trends} found @param {(at: string) => string} day @param {Unit} unit */
function drifts({ drift }, day, unit) {
  return linesOf(drift).map(({ label, newest, own }) => {
    const key = { name: "difference_k", label, unit: unitSign(unit), decimals: 2 };
    const basis = say("trends.drift.basis", { pressure: figure(newest.pressure_hpa, 1), basis: say(`trends.basis.${newest.pressure_basis}`), error: figure(degreesApart(newest.water_error_k, unit), 2), unit: unitSign(unit) });
    return spark(key, own.flatMap((one) => point(key, apart(one.difference_k, unit), day(one.from_at), label)), basis);
  });
}

/** A difference as the house reads it. @param {number | null} kelvin @param {Unit} unit */
function apart(kelvin, unit) {
  return kelvin === null ? null : degreesApart(kelvin, unit);
}

/** @param {ReviewKey} key @param {number | null | undefined} value @param {string} when @param {string} name @returns {Point[]} */
function point(key, value, when, name) {
  return value == null ? [] : [{ value, when, title: `${name}, ${when}: ${keyed(key, value)}` }];
}

/** @param {Trends} found @param {string} zone @param {Unit} unit */
function tables({ keys, runs, batch_keys, batches, drift, coolant_limit_c }, zone, unit) {
  const sign = unitSign(unit);
  const whole = (/** @type {string} */ at) => wholeTime(Date.parse(at), zone);
  const own = RUN_KEYS.flatMap((name) => keys.filter((each) => each.name === name));
  const theirs = BATCH_KEYS.flatMap((name) => batch_keys.filter((each) => each.name === name));
  const runTable = () => tableOf(say("trends.table.runs"), [say("trends.th.run"), say("trends.th.when"), ...own.map(({ label }) => label), ...(coolant_limit_c === null ? [] : [`${say("trends.margin")}, ${sign}`])],
    [...runs].reverse().map(({ run, coolant_margin_k }) => [make("a", { href: `run.html?id=${run.id}` }, say("runs.run", { batch: run.batch, purpose: run.purpose_name })), whole(run.started_at), ...own.map((key) => keyed(key, run.numbers[key.name])), ...(coolant_limit_c === null ? [] : [figure(apart(coolant_margin_k, unit), 1)])]));
  const batchTable = () => tableOf(say("trends.table.batches"), [say("trends.th.batch"), say("trends.th.when"), ...theirs.map(({ label }) => label)],
    [...batches].reverse().map((batch) => [make("a", { href: `batches.html?id=${batch.id}` }, batch.name), whole(batch.began_at), ...theirs.map((key) => keyed(key, batch.numbers[key.name]))]));
  const driftTable = () => tableOf(say("trends.table.drift"), [say("trends.th.probe"), say("trends.th.place"), say("trends.th.when"), say("trends.th.read", { unit: sign }), say("trends.th.water", { unit: sign }), say("trends.th.error", { unit: sign }), say("trends.th.difference", { unit: sign }), say("trends.th.pressure"), say("trends.th.basis")],
    [...drift].reverse().map((one) => [one.probe, standsAt(one), whole(one.from_at), figure(degrees(one.measured_c, unit), 2), figure(degrees(one.water_c, unit), 2), figure(degreesApart(one.water_error_k, unit), 2), signed(degreesApart(one.difference_k, unit), 2), figure(one.pressure_hpa, 1), say(`trends.basis.${one.pressure_basis}`)]));
  return [
    ...(runs.length > 0 ? [folded(say("trends.table.runs"), runTable)] : []),
    ...(batches.length > 0 ? [folded(say("trends.table.batches"), batchTable)] : []),
    ...(drift.length > 0 ? [folded(say("trends.table.drift"), driftTable)] : []),
    ...(runs.length + batches.length === 0 ? [make("p", { class: "hint" }, say("run.none"))] : []),
  ];
}

function turn() {
  const query = new URLSearchParams([["vessel_id", vessel.value], ["purpose", purpose.value]]);
  history.replaceState(null, "", `${location.pathname}?${query}`);
  setText(trouble, "");
  refresh();
}

vessel.addEventListener("change", turn);
purpose.addEventListener("change", turn);
const refresh = startPage("runs", load, show);
