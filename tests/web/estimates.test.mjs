// What is estimated, in words: as many decimals as the band deserves, and no word that decides.

import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/estimates/texts.js";
import { outline, points, stretchesOf, within } from "../../web/estimates/band_path.js";
import { band, figure, span, withUnit } from "../../web/estimates/figures.js";
import { statement } from "../../web/estimates/statement.js";

const UNITS = { pot_abv: "% vol", spout_abv: "% vol", recovered_percent: "%", minutes_to_end: "min", minutes_to_boil: "min", minutes_to_first_drop: "min", tails_near: "%", minutes_to_pot_below_50_c: "min", fermented_percent: "%", gravity_sg: "", hours_to_peak: "h", hours_since_peak: "h", hours_to_end: "h", stuck_percent: "%", rest_minutes: "min", minutes_to_fall_out: "min", heat_to_add_kj: "kJ" };

const of = (quantity, value, low = null, high = null, why = null) => ({ quantity, unit: UNITS[quantity] ?? "", value, low, high, low_68: null, high_68: null, why });
const told = (kind, ...estimates) => ({ kind, stage: kind === "still" ? "strip" : kind, end_abv: 10, end_left_percent: null, vessel: "still", contradictions: [], estimates });
const said = (one, unit = "C") => statement(one, unit).map(({ text }) => text).join("").replaceAll("\u00a0", " ");

test("a strip run is told as a distiller would say it", () => {
  const run = told("still", of("pot_abv", 3.1, 2.6, 3.6), of("spout_abv", 22.3, 18, 26), of("recovered_percent", 88.2, 86, 90), of("minutes_to_end", 25, 18, 32));
  assert.equal(said(run), "pot 3.1 % vol, 2.6 to 3.6; spout about 22; 88 % of the alcohol is over; 10 % at the spout in about 25 min, 18 min to 32 min.");
  assert.equal(said({ ...run, end_abv: null, end_left_percent: 5 }).includes("5 % of the alcohol left in about 25 min"), true);
});

test("before the boil it says when; after the heat is off, when the pot is cool", () => {
  const heating = told("still", of("pot_abv", null, null, null, "It does not boil."), of("minutes_to_boil", 34.6, 30, 41), of("minutes_to_first_drop", 48, 40, 60));
  assert.equal(said(heating), "boils in about 35 min, 30 min to 41 min; first drop in about 48 min.");
  const cooling = told("still", of("minutes_to_pot_below_50_c", 100, 80, 130));
  assert.equal(said(cooling, "F"), "pot below 122 °F in about 1 h 40 min, 80 min to 2 h 10 min.");
});

test("what does not fit is said to be there, and what it is, is a tap behind", () => {
  const run = { ...told("still", of("pot_abv", 3.1, 2.6, 3.6), of("tails_near", 72, 0, 100)), contradictions: ["The reading of 12.0 % vol at 14:05 contradicts everything else."] };
  assert.equal(said(run), "pot 3.1 % vol, 2.6 to 3.6; the tails may be near, so smell and taste; one thing does not fit.");
  assert.match(said({ ...run, contradictions: [...run.contradictions, "Another."] }), /; 2 things do not fit\.$/);
  assert.equal(said({ ...run, estimates: [of("pot_abv", null, null, null, "There is air in the head.")] }), "Cannot tell now. There is air in the head.");
});

test("a number is parted neither from its unit nor from its minutes", () => {
  const [, value] = statement(told("still", of("minutes_to_boil", 130, 100, 190)), "C");
  assert.equal(value?.text, "2\u00a0h\u00a010\u00a0min");
});

test("what may be is said so, and where nothing can be told, why", () => {
  const near = said(told("still", of("spout_abv", 60, 58, 62), of("tails_near", 72, 0, 100)));
  assert.match(near, /the tails may be near, so smell and taste\.$/);
  assert.doesNotMatch(said(told("still", of("spout_abv", 60, 58, 62), of("tails_near", 20))), /tails/);
  assert.match(said(told("still", of("spout_abv", 40, 38, 42), of("tails_near", 100, 91, 100, "They have probably begun."))), /the tails have probably begun\.$/);
  assert.equal(said(told("still", of("pot_abv", null, null, null, "There is air in the head."))), "Cannot tell now. There is air in the head.");
  assert.match(said(told("ferment", of("fermented_percent", 62, 55, 70), of("gravity_sg", 1.0262, 1.0215, 1.031), of("hours_since_peak", 5.2, 2, 9), of("stuck_percent", 80))), /^62 % fermented, 55 to 70; gravity about 1.026; liveliest about 5 h 10 min ago; it may be stuck, so take a gravity\.$/);
  assert.equal(said(told("ferment", of("hours_to_peak", 0, 0, 4))), "about its liveliest now.");
  assert.match(said(told("ferment", of("fermented_percent", 62, 55, 70), of("hours_since_peak", null, 2, 9, "It passed."))), /; liveliest 2 h to 9 h ago/);
  assert.match(said(told("mash", of("rest_minutes", 35, 34, 36), of("minutes_to_fall_out", 20, 15, 30))), /in its range for 35 min; may fall out of it in about 20 min/);
});

test("what a statement is read for and is not in it, it gives the reason of", () => {
  const cold = "The pot is not heated yet.";
  const unheated = told("still", of("pot_abv", null, null, null, "The pot is not boiling yet."), of("recovered_percent", 0, 0, 0), of("minutes_to_boil", null, null, null, cold));
  assert.equal(said(unheated), `Cannot tell now. ${cold}`);
  const stands = told("still", of("pot_abv", null, null, null, "The pot no longer boils."), of("recovered_percent", 22, 20, 60), of("minutes_to_boil", null, null, null, "The pot boils already."));
  assert.equal(said(stands), "22 % of the alcohol is over. The pot no longer boils.");
  stands.estimates.push(of("minutes_to_pot_below_50_c", 100, 80, 130));
  assert.doesNotMatch(said(stands), /no longer/);
  const swapped = "The probes of pot and head may be swapped.";
  const odd = told("still", of("pot_abv", null, null, null, swapped), of("recovered_percent", null, null, null, swapped), of("minutes_to_pot_below_50_c", 100, 80, 130));
  assert.equal(said(odd), `pot below 50 °C in about 1 h 40 min, 80 min to 2 h 10 min. ${swapped}`);
  const past = told("still", of("pot_abv", 0.7, 0.6, 0.8), of("spout_abv", 8, 7, 9), of("minutes_to_end", null, null, null, "The run is past its end."));
  assert.equal(said(past), "pot 0.7 % vol, 0.6 to 0.8; spout about 8.0. The run is past its end.");
  const below = of("minutes_to_fall_out", null, null, null, "It is below the range already.");
  assert.equal(said(told("mash", of("rest_minutes", 35, 34, 36), of("heat_to_add_kj", 900, 800, 1000), below)), "in its range for 35 min; 900 kJ would bring it back. It is below the range already.");
  assert.doesNotMatch(said(told("mash", of("rest_minutes", 35, 34, 36), of("heat_to_add_kj", 0, 0, 0), of("water_to_add_l", 0, 0, 0))), /bring|boiling/);
  const far = of("hours_to_end", null, null, null, "Its end lies more than nine days off, or cannot be made out yet.");
  assert.match(said(told("ferment", of("fermented_percent", 3, 1, 9), far)), /nine days off/);
  assert.doesNotMatch(said(told("ferment", of("fermented_percent", 60, 55, 70), far, of("stuck_percent", 80))), /nine days off/);
});

test("where there is little room, the first thing is told and what needs a hand", () => {
  const brief = (one) => statement(one, "C", true).map(({ text }) => text).join("").replaceAll("\u00a0", " ");
  const going = told("ferment", of("fermented_percent", 62, 55, 70), of("gravity_sg", 1.0262, 1.0215, 1.031));
  assert.equal(brief(going), "62 % fermented, 55 to 70.");
  going.estimates.push(of("stuck_percent", 80));
  assert.equal(brief(going), "62 % fermented, 55 to 70; it may be stuck, so take a gravity.");
  assert.equal(brief(told("ferment", of("stuck_percent", 80))), "it may be stuck, so take a gravity.");
});

test("decimals follow the band, whatever was worked out", () => {
  const text = (one) => { const found = figure(one); return found && [withUnit(found), band(found)].join(" | "); };
  assert.equal(text({ ...of("pot_abv", 18.411, 18.08, 18.73) }), "18.4 % vol | 18.1 to 18.7");
  assert.equal(text({ ...of("pot_abv", 18.411, 12, 25) }), "18 % vol | 12 to 25");
  assert.equal(text({ ...of("gravity_sg", 1.02623, 1.0262, 1.0264) }), "1.0262 | 1.0262 to 1.0264");
  assert.equal(text({ ...of("heat_w", 10805.2, 9433, 12415), unit: "W" }), "10,800 W | 9,430 to 12,400");
  assert.equal(text({ ...of("tails_near", 0, 0, 0) }), "0 % | ");
  assert.equal(figure(of("pot_abv", null, null, null, "why")), null);
  assert.deepEqual([0.4, 25, 89.6, 100, 640, 3000, 6000].map(span), ["a minute", "25 min", "90 min", "1 h 40 min", "11 h", "2 days", "4 days"]);
});

test("a band breaks where nothing was told and between runs, and runs off both edges", () => {
  const run = (at_ms, value) => ({ run_id: "r", vessel_id: "v", at_ms, value, low: value.map((v) => v === null ? null : v - 1), high: value.map((v) => v === null ? null : v + 1) });
  const all = points([run([0, 60_000, 120_000, 180_000], [10, 20, null, 30]), run([240_000], [40])]);
  assert.deepEqual(stretchesOf(all).map((part) => part.map(({ value }) => value)), [[10, 20], [30], [40]]);
  assert.equal(stretchesOf(points([run([0, 9_000_000], [10, 20])])).length, 2);
  assert.deepEqual(within(all, { from_ms: 70_000, to_ms: 110_000 }).map(({ at_ms }) => at_ms), [60_000, 120_000]);
  const drawn = outline(all.slice(0, 2), { from_ms: 0, to_ms: 60_000 }, { width: 100, height: 200 });
  assert.equal(drawn.middle, "M0.0 180.0L100.0 160.0");
  assert.equal(drawn.range, "M0.0 178.0L100.0 158.0L100.0 162.0L0.0 182.0Z");
});
