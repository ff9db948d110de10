// How a batch was made, as the next can be: read when the next is begun, and on that one's own page.

import { make } from "../shared/dom.js";
import { DASH, figure, percent } from "../run/format.js";
import { say } from "../texts.js";

/** @param {BatchPlan} plan */
export function drawMade({ ingredients, rests, original_sg, final_sg, ferment_days, runs, limits, gaps }) {
  const gravities = original_sg === null && final_sg === null ? [] : [say("made.gravity", { original: figure(original_sg, 4), final: figure(final_sg, 4), days: figure(ferment_days, 1) })];
  const groups = /** @type {[string, string[]][]} */ ([
    ["made.bill", ingredients.map(ingredient)],
    ["made.rests", rests.map(rest)],
    ["made.ferment", gravities],
    ["made.runs", runs.map(run)],
    ["made.limits", limits.map(limit)],
    ["made.gaps", gaps.map(({ why }) => why)],
  ]);
  return make("div", { class: "made" }, ...groups.filter(([, lines]) => lines.length > 0).flatMap(([key, lines]) => [make("h3", {}, say(key)), make("ul", {}, ...lines.map((line) => make("li", {}, line)))]));
}

/** @param {BatchPlan["ingredients"][number]} one */
function ingredient({ kind, name, mass_kg, volume_l, temperature_c, after_h }) {
  const amount = mass_kg !== null ? say("entry.value.mass", { mass: figure(mass_kg, mass_kg < 1 ? 3 : 1) }) : volume_l !== null ? say("entry.value.volume", { volume: figure(volume_l, 1) }) : "";
  return [name.replaceAll("-", " ") || say(`made.kind.${kind}`), amount, temperature_c === null ? "" : `${figure(temperature_c, 0)} °C`, after_h ? say("made.after", { hours: figure(after_h, 1) }) : ""].filter(Boolean).join(", ");
}

/** @param {BatchPlan["rests"][number]} one */
function rest({ name, low_c, high_c, planned_min }) {
  return [name, say("entry.value.range", { low: figure(low_c, 0), high: figure(high_c, 0) }), planned_min === null ? "" : say("run.minutes", { minutes: figure(planned_min, 0) })].filter(Boolean).join(", ");
}

/** @param {BatchPlan["runs"][number]} one */
function run({ purpose_name, vessel, charge_volume_l, charge_abv, powers_kw, hearts_from_abv, tails_from_abv, hearts_from_share, tails_from_share }) {
  const charge = charge_volume_l === null ? "" : say("made.charge", { volume: figure(charge_volume_l, 1), abv: figure(charge_abv, 1) });
  const heat = powers_kw.length === 0 ? "" : say("made.heat", { powers: powers_kw.map((kw) => String(Number(kw.toFixed(2)))).join(", ") });
  const cut = (/** @type {string} */ key, /** @type {number | null} */ abv, /** @type {number | null} */ share) => (abv === null && share === null ? "" : say(key, { abv: figure(abv, 1), share: share === null ? DASH : percent(share) }));
  return [say("made.run", { purpose: purpose_name, vessel: vessel ?? DASH }), charge, heat, cut("made.hearts", hearts_from_abv, hearts_from_share), cut("made.tails", tails_from_abv, tails_from_share)].filter(Boolean).join("; ");
}

/** @param {BatchPlan["limits"][number]} one */
function limit({ name, limit: own, unit, holds, limit_now, reason }) {
  const words = { name, limit: figure(own, 1), now: figure(limit_now, 1), unit, reason };
  return say(holds ? "made.limit" : "made.limit.changed", words);
}
