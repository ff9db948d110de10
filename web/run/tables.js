// The charts of a run as tables: the same numbers, for eyes that read rows and for ears.

import { timeOfDay, timeToSecond } from "../shared/clock.js";
import { make } from "../shared/dom.js";
import { unitSign } from "../shared/units.js";
import { say } from "../texts.js";
import { DASH, figure, folded, percent, tableOf } from "./format.js";
import { alarmRow, rowsOf, temperatures } from "./picture.js";
import { section } from "./sections.js";

/** The tables of all its data, as the service names them. */
const FILES = ["readings", "moments", "phases", "marks", "jars", "alarms", "numbers", "estimates"];

/** @typedef {import("../shared/page.js").Ground} Ground */

/** @param {RunReview} review @param {readonly Trace[]} traces @param {Ground} ground */
export function tablesOf(review, traces, { zone, unit }) {
  const time = (/** @type {string} */ at) => timeToSecond(Date.parse(at), zone);
  const view = { from: review.run.from_ms, to: review.run.to_ms };
  const about = [
    ["temperature", traces.length, () => heats(traces, view, unit, zone)],
    ["jars", review.jars.length, () => jars(review, zone)],
    ["cuts", review.cuts.length, () => cuts(review)],
    ["marks", review.marks.length, () => tableOf(say("run.table.marks"), [say("run.th.time"), say("run.th.what"), say("run.th.text")], review.marks.map(({ at, kind, text, power_kw }) => [time(at), say(`mark.${kind}`), text || (power_kw === null ? DASH : say("lane.kw", { power: power_kw }))]), [], [1, 2])],
    ["alarms", review.alarms.length, () => alarms(review, time, unit)],
    ["heat", review.power_changes.length, () => tableOf(say("run.table.heat"), [say("run.th.time"), say("run.th.power"), say("run.th.before"), say("run.th.text")], review.power_changes.map(({ at, power_kw, before_kw, text }) => [time(at), figure(power_kw, 2), figure(before_kw, 2), text || DASH]), [], [3])],
    ["notes", review.notes.length, () => tableOf(say("run.table.notes"), [say("run.th.time"), say("run.th.text")], review.notes.map(({ at, text, kind, smell }) => [time(at), [text || say(`mark.${kind}`), ...smell].join(", ")]), [], [1])],
  ];
  const there = /** @type {[string, number, () => Node][]} */ (about).filter(([, count]) => count > 0);
  return section(say("run.tables"), ...there.map(([key, , content]) => folded(say(`run.table.${key}`), content)), ...(there.length === 0 ? [make("p", { class: "hint" }, say("run.none"))] : []), make("h3", {}, say("run.files")), filesOf(review.run));
}

/** Each table as a file for a spreadsheet. @param {RunFacts} run */
function filesOf({ id, batch, purpose_name }) {
  return make("p", { class: "others" }, ...FILES.map((name) => {
    const said = say(`run.file.${name}`);
    return make("a", { class: "quiet", href: `api/reviews/runs/${id}/${name}.csv`, download: `${batch} ${purpose_name} ${said}.csv` }, said);
  }));
}

/** @param {readonly Trace[]} traces @param {{from: number, to: number}} view @param {import("../shared/units.js").Unit} unit @param {string} zone */
function heats(traces, view, unit, zone) {
  const lines = temperatures(traces, view, unit);
  const heads = [say("run.th.time"), ...lines.map(({ name }) => `${name}, ${unitSign(unit)}`)];
  return tableOf(say("run.table.temperature"), heads, rowsOf(lines, view).map(({ at, values }) => [timeOfDay(at, zone), ...values]));
}

/** @param {RunReview} review @param {string} zone */
function jars({ jars: all }, zone) {
  const heads = [say("run.th.jar"), say("run.th.cut"), say("run.th.from"), say("run.th.volume"), say("run.th.strength"), say("run.th.rate"), say("run.th.collected"), say("run.th.alcohol"), say("run.th.share")];
  const rows = all.map(({ number, cut, began_at, volume_at_20_c_l, abv, abv_basis, rate_ml_min, running_volume_l, running_pure_alcohol_l, share_of_charge }) => [
    String(number), say(`cut.${cut ?? "none"}`), timeOfDay(Date.parse(began_at), zone), figure(volume_at_20_c_l, 3), abv == null ? DASH : `${abv_basis === "read" ? "" : "≈ "}${figure(abv, 1)}`, figure(rate_ml_min, 0), figure(running_volume_l, 2), figure(running_pure_alcohol_l, 3), percent(share_of_charge, 1)]);
  return tableOf(say("run.table.jars"), heads, rows);
}

/** @param {RunReview} review */
function cuts({ cuts: all }) {
  const heads = [say("run.th.cut"), say("lane.jars"), say("run.th.volume"), say("run.th.strength"), say("run.th.alcohol"), say("run.th.share")];
  return tableOf(say("run.table.cuts"), heads, all.map(({ cut, collected }) => [say(`cut.${cut ?? "none"}`), String(collected.jars), figure(collected.volume_l, 2), figure(collected.abv, 1), figure(collected.pure_alcohol_l, 3), percent(collected.share_of_charge, 1)]));
}

/** @param {RunReview} review @param {(at: string) => string} time @param {import("../shared/units.js").Unit} unit */
function alarms({ alarms: all }, time, unit) {
  const heads = [say("run.th.time"), say("run.th.what"), say("run.th.where"), say("run.th.value"), say("run.th.limit"), say("run.th.until")];
  return tableOf(say("run.table.alarms"), heads, all.map((one) => alarmRow(one, time, unit)), [], [1, 2]);
}
