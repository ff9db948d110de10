// What stands under the sheet of a run: its cut points, phases, jumps, energy and water, how well it
// was told beforehand, and what is not known.

import { timeOfDay } from "../shared/clock.js";
import { make } from "../shared/dom.js";
import { woven } from "../shared/page.js";
import { temperature, degreesApart, unitSign } from "../shared/units.js";
import { parts, say } from "../texts.js";
import { DASH, duration, figure, percent, signed, tableOf } from "./format.js";

/** @typedef {import("../shared/page.js").Ground} Ground */

const FIRST = 3; // of what followed a jump, before one asks for more

/** @param {string} title @param {...(Node | string)} content */
export function section(title, ...content) {
  return make("section", { class: "part" }, make("h2", {}, title), ...content);
}

/** @param {RunReview} review @param {Ground} ground */
export function sectionsOf(review, ground) {
  return [
    section(say("run.cuts"), cutPoints(review, ground)),
    section(say("run.phases"), phases(review, ground)),
    section(say("run.jumps"), ...jumps(review.jumps, ground)),
    section(say("run.used"), used(review)),
    section(say("run.estimates"), ...estimates(review)),
    section(say("run.gaps"), gapsList(review.gaps)),
  ];
}

/** A temperature, or a dash. @param {number | null} celsius @param {Ground} ground */
function heat(celsius, { unit }) {
  return celsius === null ? DASH : temperature(celsius, unit);
}

/** The strength that ran at a moment, as read of the jar that stood there. @param {RunReview} review @param {number} at_ms */
function runningAt({ jars }, at_ms) {
  const jar = jars.find(({ began_at, ended_at }) => Date.parse(began_at) <= at_ms && (ended_at === null || at_ms < Date.parse(ended_at)));
  return jar?.abv_basis === "read" ? (jar.abv ?? null) : null;
}

/** What had come over by a moment. @param {RunReview} review @param {number} at_ms */
function overBy({ series: { collected } }, at_ms) {
  const after = collected.findIndex(({ at_ms: at }) => at >= at_ms);
  const [next, last] = [collected[after], collected[after - 1]];
  if (!next) return collected.at(-1)?.volume_l ?? null;
  if (!last || next.volume_l === null || last.volume_l === null) return next.at_ms === at_ms ? next.volume_l : last ? last.volume_l : null;
  return last.volume_l + ((next.volume_l - last.volume_l) * (at_ms - last.at_ms)) / (next.at_ms - last.at_ms);
}

/** @param {RunReview} review @param {Ground} ground */
function cutPoints(review, ground) {
  const sign = unitSign(ground.unit);
  const heads = [say("run.th.what"), say("run.th.time"), say("run.th.head", { unit: sign }), say("run.th.pot", { unit: sign }), say("run.th.strength"), say("run.th.collected"), say("run.th.basis")];
  const rows = review.moments.map(({ name, at, basis, why, pot_c, head_c }) => {
    const ms = Date.parse(at);
    return [name, timeOfDay(ms, ground.zone), heat(head_c, ground), heat(pot_c, ground), figure(runningAt(review, ms), 1), figure(overBy(review, ms), 2), make("span", { title: why }, say(`run.basis.${basis}`))];
  });
  return tableOf(say("run.cuts"), heads, rows, [], [heads.length - 1]);
}

/** @param {RunReview} review @param {Ground} ground */
function phases({ phases: all, totals, energy, run }, { zone }) {
  const heads = [say("run.th.phase"), say("run.th.from"), say("run.th.took"), say("run.th.volume"), say("run.th.strength"), say("run.th.alcohol"), say("run.th.share"), say("run.th.rate"), say("run.th.energy")];
  const rows = all.map(({ name, from_at, minutes, is_open, collected, splits_jar, rate_ml_min, energy: own }) => {
    const volume = figure(collected?.volume_l, 2);
    return [is_open ? say("run.phase.open", { name }) : name, timeOfDay(Date.parse(from_at), zone), duration(minutes), splits_jar ? `${volume} †` : volume, figure(collected?.abv, 1), figure(collected?.pure_alcohol_l, 2), percent(collected?.share_of_charge, 1), figure(rate_ml_min, 0), figure(own.amount, 1)];
  });
  const foot = [say("run.phase.total"), timeOfDay(Date.parse(run.started_at), zone), duration(run.duration_min), figure(totals.volume_l || null, 2), "", figure(totals.pure_alcohol_l, 2), percent(totals.share_of_charge, 1), "", figure(energy.amount, 1)];
  const split = all.some(({ splits_jar }) => splits_jar) ? [make("p", { class: "hint" }, say("run.phase.note"))] : [];
  const expected = totals.is_expected ? [make("p", { class: "hint" }, say("run.expected.note"))] : [];
  return make("div", {}, tableOf(say("run.phases"), heads, rows, [foot]), ...split, ...expected);
}

/** @param {readonly Jump[]} all @param {Ground} ground */
function jumps(all, ground) {
  if (all.length === 0) return [make("p", { class: "hint" }, say("run.jump.none"))];
  const strange = all.filter(({ is_usual }) => !is_usual);
  const usual = all.filter(({ is_usual }) => is_usual);
  const list = (/** @type {readonly Jump[]} */ some) => make("ul", { class: "jumps" }, ...some.map((one) => jump(one, ground)));
  return [
    ...(strange.length > 0 ? [list(strange)] : [make("p", { class: "hint" }, say("run.jump.none"))]),
    ...(usual.length > 0 ? [make("details", { class: "folded" }, make("summary", {}, say("run.jump.usual")), list(usual))] : []),
  ];
}

/** @param {Jump} one @param {Ground} ground */
function jump({ place, from_at, to_at, from_c, to_c, fastest_k_min, followed }, { zone, unit }) {
  const [from, to] = [Date.parse(from_at), Date.parse(to_at)];
  const words = { place: place.replaceAll("_", " "), from: temperature(from_c, unit), to: temperature(to_c, unit), unit: unitSign(unit), minutes: figure((to - from) / 60_000, 1) };
  const when = say("run.jump.when", { time: timeOfDay(from, zone), fastest: figure(degreesApart(Math.abs(fastest_k_min), unit), 1), unit: unitSign(unit) });
  const then = followed.length === 0
    ? [make("li", {}, say("run.jump.nothing"))]
    : followed.map(({ after_s, says }) => make("li", {}, say("run.jump.then", { after: duration(after_s / 60), says })));
  const rest = then.slice(FIRST);
  return make("li", {}, make("p", {}, ...woven(parts("run.jump", words)), " ", make("small", {}, when)), make("ul", { class: "then" }, ...then.slice(0, FIRST)),
    ...(rest.length > 0 ? [make("details", { class: "then" }, make("summary", {}, say("run.jump.more", { count: rest.length })), make("ul", {}, ...rest))] : []));
}

/** @param {RunReview} review */
function used({ energy, energy_kwh_per_l, water, water_l_per_l }) {
  const line = (/** @type {string} */ name, /** @type {Used} */ { amount, unit, basis, says }, /** @type {number | null} */ each) => [
    make("dt", {}, name),
    make("dd", {}, make("b", {}, amount === null ? say("run.used.unknown") : `${figure(amount, 1)} ${unit}`), " ", ...(amount === null ? [] : [make("small", {}, say(`run.used.${basis}`))]),
      make("p", { class: "hint" }, [says, each === null ? "" : say("run.each", { amount: figure(each, 2), unit })].filter(Boolean).join(" "))),
  ];
  return make("dl", { class: "used" }, ...line(say("run.energy"), energy, energy_kwh_per_l), ...line(say("run.water"), water, water_l_per_l));
}

/** @param {RunReview} review */
function estimates({ estimates: told }) {
  if (!told) return [make("p", { class: "hint" }, say("run.estimates.none"))];
  if (told.scores.length === 0) return [make("p", {}, told.says)];
  const heads = [say("run.th.quantity"), say("run.th.count"), say("run.th.bias"), say("run.th.error"), say("run.th.inside")];
  const rows = told.scores.map(({ name, unit, n, bias, mean_absolute_error, decimals, inside_band }) => [name, String(n), `${signed(bias, decimals)} ${unit}`, `${figure(mean_absolute_error, decimals)} ${unit}`, percent(inside_band)]);
  return [make("p", {}, told.says), tableOf(say("run.estimates"), heads, rows), make("ul", { class: "plainlist" }, ...told.scores.map(({ name, says, before_end }) => make("li", {}, [say("run.estimate", { name, says }), before_end ?? ""].filter(Boolean).join(" "))))];
}

/** @param {readonly Gap[]} gaps */
export function gapsList(gaps) {
  if (gaps.length === 0) return make("p", { class: "hint" }, say("run.gaps.none"));
  return make("ul", { class: "plainlist gaps" }, ...gaps.map(({ why }) => make("li", {}, why)));
}
