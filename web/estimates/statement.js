// What is estimated of a stage, in one plain statement. It advises; it decides nothing. Pure.

import { parts, say } from "../texts.js";
import { HOUR_MIN, band, coolEnough, figure, kept, span } from "./figures.js";

/** @typedef {import("../texts.js").Part} Part */
/** @typedef {import("../shared/units.js").Unit} Unit */

const LIKELY_PERCENT = 50;
const NOW_H = 0.5;

/**
 * @param {VesselEstimates} told @param {Unit} unit
 * @param {boolean} [brief] only the first thing that can be told, and what needs a hand
 * @returns {Part[]}
 */
export function statement(told, unit, brief = false) {
  const of = new Map(told.estimates.map((one) => [one.quantity, one]));
  const all = { still, ferment, mash }[told.kind](of, told, unit).filter((clause) => clause.length > 0);
  const warns = all.length > 1 && (likely(of, "tails_near") || likely(of, "stuck_percent"));
  const odds = odd(told);
  const clauses = [...(brief ? [...all.slice(0, 1), ...(warns ? all.slice(-1) : [])] : all), ...odds];
  if (all.length === 0) return parts("est.none", { why: unsaid(of, told.kind) || whyNot(told) });
  const said = clauses.flatMap((clause, index) => (index === 0 ? clause : [{ text: "; ", strong: false }, ...clause]));
  const why = brief ? "" : unsaid(of, told.kind);
  return [...said, { text: why ? `. ${why}` : ".", strong: false }].map(({ text, strong }) => ({ text: kept(text), strong }));
}

/** @param {Pick<VesselEstimates, "kind" | "stage">} one */
export function stageName({ kind, stage }) {
  return kind === "still" ? say("est.stage.run", { stage }) : say(`est.stage.${kind}`);
}

/** That something contradicts the rest; what, is said a tap behind. @param {VesselEstimates} told @returns {Part[][]} */
function odd({ contradictions }) {
  const count = contradictions.length;
  return count > 0 ? [parts(count === 1 ? "est.odd" : "est.odds", { count })] : [];
}

/** @typedef {ReadonlyMap<string, EstimateNow>} Of */

/** @param {Of} of @param {VesselEstimates} told @param {Unit} unit @returns {Part[][]} */
function still(of, told, unit) {
  const boils = clause(of, "minutes_to_boil", "est.boil");
  if (boils.length > 0) return [boils, clause(of, "minutes_to_first_drop", "est.drop")];
  const cooling = clause(of, "minutes_to_pot_below_50_c", "est.cool", { limit: coolEnough(unit) });
  return [
    clause(of, "pot_abv", "est.pot"),
    clause(of, "spout_abv", "est.spout"),
    some(of, "recovered_percent") ? clause(of, "recovered_percent", "est.over") : [],
    cooling.length > 0 ? cooling : clause(of, "minutes_to_end", endKey(told), { abv: told.end_abv ?? "", left: told.end_left_percent ?? "" }),
    likely(of, "tails_near") ? parts(of.get("tails_near")?.why ? "est.tails.begun" : "est.tails") : [],
  ];
}

/** @param {VesselEstimates} told */
function endKey({ end_abv, end_left_percent }) {
  if (end_abv !== null && end_left_percent === null) return "est.end.abv";
  return end_abv === null && end_left_percent !== null ? "est.end.left" : "est.end";
}

/** @param {Of} of @returns {Part[][]} */
function ferment(of) {
  const past = clause(of, "hours_since_peak", "est.peak.past");
  const between = within(of, "hours_since_peak", "est.peak.between");
  const soon = of.get("hours_to_peak")?.value ?? Infinity;
  return [
    clause(of, "fermented_percent", "est.fermented"),
    clause(of, "gravity_sg", "est.gravity"),
    past.length > 0 ? past : between.length > 0 ? between : soon < NOW_H ? parts("est.peak.now") : clause(of, "hours_to_peak", "est.peak"),
    clause(of, "hours_to_end", "est.done"),
    likely(of, "stuck_percent") ? parts("est.stuck") : [],
  ];
}

/** @param {Of} of @returns {Part[][]} */
function mash(of) {
  return [
    clause(of, "rest_minutes", "est.rest"),
    clause(of, "minutes_to_fall_out", "est.fallout"),
    some(of, "heat_to_add_kj") ? clause(of, "heat_to_add_kj", "est.heat") : [],
    some(of, "water_to_add_l") ? clause(of, "water_to_add_l", "est.water") : [],
  ];
}

/** @param {Of} of @param {string} quantity @param {string} key @param {import("../texts.js").Words} [words] @returns {Part[]} */
function clause(of, quantity, key, words = {}) {
  const one = of.get(quantity);
  const found = one && figure(one);
  if (!found) return [];
  const range = band(found);
  return parts(key, { value: found.value, band: range ? say("est.comma", { range }) : "", ...words });
}

/** What a band says that is too wide for one figure. @param {Of} of @param {string} quantity @param {string} key @returns {Part[]} */
function within(of, quantity, key) {
  const { value = 0, low = null, high = null } = of.get(quantity) ?? {};
  return value === null && low !== null && high !== null ? parts(key, { low: span(low * HOUR_MIN), high: span(high * HOUR_MIN) }) : [];
}

/** @param {Of} of @param {string} quantity */
function likely(of, quantity) {
  return (of.get(quantity)?.value ?? 0) >= LIKELY_PERCENT;
}

/** @param {Of} of @param {string} quantity */
function some(of, quantity) {
  return (of.get(quantity)?.value ?? 0) > 0;
}

/** Why what a statement is read for is not in it; nothing where it is, or where nobody asks. @param {Of} of @param {VesselEstimates["kind"]} kind */
function unsaid(of, kind) {
  const why = (/** @type {string} */ quantity) => (of.get(quantity)?.value === null ? (of.get(quantity)?.why ?? "") : "");
  if (kind === "mash") return why("minutes_to_fall_out");
  if (kind === "ferment") return likely(of, "stuck_percent") ? "" : why("hours_to_end");
  const cools = some(of, "minutes_to_pot_below_50_c") && !why("recovered_percent");
  if (some(of, "minutes_to_boil") || cools) return "";
  if (why("pot_abv")) return (!some(of, "recovered_percent") && why("minutes_to_boil")) || why("pot_abv");
  return why("spout_abv") || why("minutes_to_end");
}

/** Why the first thing anybody wants to know cannot be told. @param {VesselEstimates} told */
function whyNot({ estimates }) {
  return estimates.find(({ why }) => why)?.why ?? say("est.nothing");
}

