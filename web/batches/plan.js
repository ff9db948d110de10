// How a batch was made, as the next can be: read when the next is begun, and on that one's own page.

import { make } from "../shared/dom.js";
import { DASH, figure, percent } from "../run/format.js";
import { degrees, unitSign } from "../shared/units.js";
import { amount } from "../banner/amount.js";
import { say } from "../texts.js";

/** @typedef {import("../shared/units.js").Unit} Unit */

/** @param {BatchPlan} plan @param {Unit} unit */
export function drawMade(plan, unit) {
  return make("div", { class: "made" }, ...madeOf(plan, unit).flatMap(([key, lines]) => [make("h3", {}, say(key)), make("ul", {}, ...lines.map((line) => make("li", {}, line)))]));
}

/** What there is to say of it, by heading. @param {BatchPlan} plan @param {Unit} unit */
export function madeOf({ ingredients, rests, original_sg, final_sg, ferment_days, runs, limits, gaps }, unit) {
  const gravities = original_sg === null && final_sg === null ? [] : [say("made.gravity", { original: figure(original_sg, 4), final: figure(final_sg, 4), days: figure(ferment_days, 1) })];
  const groups = /** @type {[string, string[]][]} */ ([
    ["made.bill", ingredients.map((one) => ingredient(one, unit))],
    ["made.rests", rests.map((one) => rest(one, unit))],
    ["made.ferment", gravities],
    ["made.runs", runs.map(run)],
    ["made.limits", limits.map((one) => limit(one, unit))],
    ["made.gaps", gaps.map(({ why }) => why)],
  ]);
  return groups.filter(([, lines]) => lines.length > 0);
}

/** @param {BatchPlan["ingredients"][number]} one @param {Unit} unit */
function ingredient({ kind, name, mass_kg, volume_l, temperature_c, after_h }, unit) {
  const much = mass_kg !== null ? say("entry.value.mass", { mass: figure(mass_kg, mass_kg < 1 ? 3 : 1) }) : volume_l !== null ? say("entry.value.volume", { volume: figure(volume_l, 1) }) : "";
  return [name.replaceAll("-", " ") || say(`made.kind.${kind}`), much, temperature_c === null ? "" : `${figure(degrees(temperature_c, unit), 0)} ${unitSign(unit)}`, after_h ? say("made.after", { hours: figure(after_h, 1) }) : ""].filter(Boolean).join(", ");
}

/** @param {BatchPlan["rests"][number]} one @param {Unit} unit */
function rest({ name, low_c, high_c, planned_min }, unit) {
  return [name, say("entry.value.range", { low: figure(degrees(low_c, unit), 0), high: figure(degrees(high_c, unit), 0), unit: unitSign(unit) }), planned_min === null ? "" : say("run.minutes", { minutes: figure(planned_min, 0) })].filter(Boolean).join(", ");
}

/** @param {BatchPlan["runs"][number]} one */
function run({ purpose_name, vessel, charge_volume_l, charge_abv, powers_kw, hearts_from_abv, tails_from_abv, hearts_from_share, tails_from_share }) {
  const charge = charge_volume_l === null ? "" : say("made.charge", { volume: figure(charge_volume_l, 1), abv: figure(charge_abv, 1) });
  const heat = powers_kw.length === 0 ? "" : say("made.heat", { powers: powers_kw.map((kw) => String(Number(kw.toFixed(2)))).join(", ") });
  const cut = (/** @type {string} */ key, /** @type {number | null} */ abv, /** @type {number | null} */ share) => (abv === null && share === null ? "" : say(key, { abv: figure(abv, 1), share: share === null ? DASH : percent(share) }));
  return [say("made.run", { purpose: purpose_name, vessel: vessel ?? DASH }), charge, heat, cut("made.hearts", hearts_from_abv, hearts_from_share), cut("made.tails", tails_from_abv, tails_from_share)].filter(Boolean).join("; ");
}

/** @param {BatchPlan["limits"][number]} one @param {Unit} shown */
function limit({ name, limit: own, unit, holds, limit_now, reason }, shown) {
  const words = { name, limit: amount(own, unit, shown), now: amount(limit_now, unit, shown), reason };
  return say(holds ? "made.limit" : "made.limit.changed", words);
}
