import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/banner/texts.js";
import "../../web/vessels/texts.js";
import "../../web/alarms/texts.js";
import { happened, queryOf } from "../../web/alarms/events.js";
import { titleOf } from "../../web/banner/tell.js";
import { tellLoudness } from "../../web/alarms/measured.js";
import { positions, tested } from "../../web/alarms/tested.js";
import { fromShown, signOf, toShown } from "../../web/alarms/turned.js";
import { say } from "../../web/texts.js";
import { span } from "../../web/alarms/spans.js";
import { tellAlarms } from "../../web/alarms/tell.js";
import { amount } from "../../web/banner/amount.js";
import { newlyCalling, nowQuiet, ordered, shown } from "../../web/banner/order.js";
import { numberText, spokenText, whereOf } from "../../web/banner/tell.js";
import { TUNES } from "../../web/banner/tune.js";
import { T0, textOf } from "./helpers.mjs";

const iso = (ms) => new Date(ms).toISOString();
const alarm = (key, priority, state = "unacknowledged", more = {}) => ({
  key, rule: key, name: `Rule ${key}`, place: "coolant_out", vessel: "Still 1", state, priority,
  since: iso(T0), value: 72.25, unit: "°C", limit: 70, cause: "It stopped.", consequence: "Vapour.",
  first_action: "Cut the heat.", time_to_act_s: 120, covers: [], shelved_until: null, acknowledged_by: null, latching: false, longest_shelf_min: 60, ...more,
});
const keys = (alarms) => alarms.map(({ key }) => key);

test("what calls comes first, then what is worse, then what is older; hidden ones last", () => {
  const all = [
    alarm("hidden", "high", "held", { covers: ["shelved"] }),
    alarm("known", "high", "acknowledged"),
    alarm("low", "low"),
    alarm("young", "high", "unacknowledged", { since: iso(T0 + 1000) }),
    alarm("over", "high", "returned"),
    alarm("old", "high"),
  ];
  assert.deepEqual(keys(ordered(all)), ["old", "young", "low", "over", "known", "hidden"]);
});

test("the banner holds the most urgent that calls, and sounds only for what still holds", () => {
  assert.deepEqual(shown([]), { top: null, more: [], known: [], sound: null });
  const over = shown([alarm("over", "high", "returned")]);
  assert.equal(over.top.key, "over");
  assert.equal(over.sound, null);
  const both = shown([alarm("over", "high", "returned"), alarm("warm", "medium"), alarm("kept", "low", "latched")]);
  assert.deepEqual([both.top.key, keys(both.more), keys(both.known), both.sound], ["warm", ["over"], ["kept"], "medium"]);
});

test("nothing covered is ever shown at the top, sounded or told", () => {
  for (const cover of ["shelved", "shelved_once", "suppressed", "out_of_service"]) {
    const hidden = alarm("a", "high", "unacknowledged", { covers: [cover] });
    assert.deepEqual(shown([hidden]), { top: null, more: [], known: [], sound: null });
    assert.deepEqual(newlyCalling([], [hidden]), []);
  }
});

test("told once, and again only where it came back or got worse", () => {
  const [low, high] = [alarm("a", "low"), alarm("a", "high")];
  const [over, seen] = [alarm("a", "high", "returned"), alarm("a", "high", "acknowledged")];
  assert.deepEqual(keys(newlyCalling([], [high])), ["a"]);
  assert.deepEqual(newlyCalling([high], [high]), []);
  assert.deepEqual(newlyCalling([high], [over]), []);
  assert.deepEqual(keys(newlyCalling([over], [high])), ["a"]);
  assert.deepEqual(keys(newlyCalling([seen], [high])), ["a"]);
  assert.deepEqual(keys(newlyCalling([low], [high])), ["a"]);
  assert.deepEqual(newlyCalling([high], [low]), []);
  assert.deepEqual(nowQuiet([high], [seen]), ["a"]);
  assert.deepEqual(nowQuiet([high], [over]), []);
  assert.deepEqual(nowQuiet([over], []), ["a"]);
});

test("numbers stand beside their limits, in the unit shown", () => {
  const ground = { zone: "UTC", unit: "C", now_ms: T0 };
  assert.equal(numberText(alarm("a", "high"), ground), "72.3 °C, limit 70.0 °C");
  assert.equal(numberText(alarm("a", "high"), { ...ground, unit: "F" }), "162.1 °F, limit 158.0 °F");
  assert.equal(numberText(alarm("a", "high", "returned", { limit: null }), ground), "72.3 °C");
  assert.equal(numberText(alarm("a", "high", "returned", { value: null }), ground), "");
  assert.equal(amount(-0.15, "K/min", "C"), "\u22120.15 °C/min");
  assert.equal(amount(0.5, "K/s", "F"), "0.90 °F/s");
  assert.equal(amount(91.5, "%", "F"), "91.5 %");
  assert.deepEqual([amount(90, "s", "C"), amount(3636, "s", "C"), amount(61.4, "min", "C")], ["90 s", "61 min", "61 min"]);
  assert.equal(amount(-0.001, null, "C"), "0");
});

test("a listener hears what and what to do, but no number that would be said anew each second", () => {
  assert.equal(whereOf({ place: "", vessel: "" }), "");
  assert.equal(spokenText(alarm("a", "high")), "High alarm. Rule a, coolant out of Still 1. Cut the heat.");
});

test("the page's sentence says what calls, what is seen and what is hidden", () => {
  const body = (now, aside = [], stages = []) => ({ now, aside, sounding: false, chirping: false, highest: null, stages, judged_until: null });
  const hot = { vessel_id: "v", vessel: "Still 1", stage: "spirit", source: "guessed", phase: "boiling", water_proven: true, at_the_still_min: 2 };
  const none = tellAlarms(body([], [], [hot, { ...hot, stage: null, source: "nobody" }]));
  assert.equal(textOf(none.says), "No alarm stands.");
  assert.equal(none.rests, "Still 1: spirit run, boiling, guessed from its temperatures; nobody has said what it holds.");
  const [one, seen] = [alarm("a", "high"), alarm("b", "low", "acknowledged")];
  const hidden = alarm("c", "high", "held", { covers: ["shelved"] });
  const told = tellAlarms(body([seen, one], [hidden]));
  assert.equal(textOf(told.says), "Rule a calls, coolant out of Still 1. One is seen, and still so.");
  const house = { ...one, place: "", vessel: "" };
  assert.equal(textOf(tellAlarms(body([house])).says).trim(), "Rule a calls.");
  assert.equal(told.rests, "One is hidden for now; it is watched on underneath.");
  assert.match(textOf(tellAlarms(body([seen])).says), /^Nothing calls\. One is seen/);
  assert.match(textOf(tellAlarms(body([one, alarm("d", "low")])).says), /^2 alarms call, the most urgent first: Rule a/);
});

test("what happened is told with who, number, limit and reason", () => {
  const ground = { zone: "UTC", unit: "C", now_ms: T0 };
  const event = { what: "raise", who: "alarms", why: "", value: 72.25, limit: 70, unit: "°C", shelved_until: null };
  assert.equal(happened(event, ground), "came up at 72.3 °C, limit 70.0 °C");
  assert.equal(happened({ ...event, what: "acknowledge", who: "Ada", why: "tap opened" }, ground), "seen by Ada “tap opened”");
  assert.match(happened({ ...event, what: "shelve", who: "Ada", shelved_until: iso(T0 + 600_000) }, ground), /^laid aside by Ada until 12:10/);
});

test("the past is asked for as it was chosen", () => {
  const query = queryOf(new URLSearchParams("priority=high&days=1&rule=spout_hot"), T0, 40);
  assert.deepEqual(query, { from: iso(T0 - 864e5), priority: "high", rule: "spout_hot", before: 40 });
  assert.deepEqual(queryOf(new URLSearchParams("days=all"), T0), {});
});

test("a limit is turned to the unit shown and back without loss", () => {
  for (const [kept, unit, apart] of [[70, "°C", false], [2, "°C", true], [0.1, "K/s", false], [15, "min", false]]) {
    for (const shown of ["C", "F"]) assert.equal(fromShown(toShown(kept, unit, shown, apart), unit, shown, apart), kept);
  }
  assert.equal(toShown(70, "°C", "F", false), 158);
  assert.equal(toShown(2, "°C", "F", true), 3.6);
  assert.deepEqual([signOf("K/min", "F"), signOf("°C", "C"), signOf("min", "F")], ["°F/min", "°C", "min"]);
});

test("a back-test counts both ways and places its marks along the run", () => {
  const run = { batch: "rye", vessel: "Still 1", stage: "spirit", began_at: iso(T0), ended_at: iso(T0 + 3_600_000), as_set: [], as_tried: [iso(T0 + 900_000), iso(T0 + 9_900_000)] };
  assert.match(tested({ runs: [run], not_known: "" }), /called 2 times so; as it stands, never/);
  assert.match(tested({ runs: [], not_known: "" }), /no past run/);
  assert.equal(tested({ runs: [], not_known: "Presses are known only of now." }), "It cannot be tried on past runs. Presses are known only of now.");
  assert.deepEqual(positions(run.as_tried, run), [250, 1000]);
});

test("the loudness is held against what a person can bear", () => {
  const found = { days: 30, alarms: 12, per_10_min: 0.0028, most_in_10_min: 3, acceptable_per_10_min: 1, manageable_per_10_min: 2 };
  assert.equal(say(...tellLoudness(found)), "In 30 days 12 alarms came: less than 0.01 in ten minutes on the whole, 3 at most. That can be borne.");
  assert.equal(tellLoudness({ ...found, per_10_min: 1.2 })[0], "loud.says.much");
  assert.equal(tellLoudness({ ...found, per_10_min: 2.5 })[0], "loud.says.over");
  assert.equal(tellLoudness({ ...found, alarms: 0 })[0], "loud.says.none");
});

test("priorities are told apart by the number of notes and their pace, not by pitch alone", () => {
  const { high, medium, low } = TUNES;
  assert.ok(high.notes.length > medium.notes.length && medium.notes.length > low.notes.length);
  assert.ok(high.every_s < medium.every_s && medium.every_s < low.every_s);
  for (const { notes, every_s } of [high, medium, low]) {
    const last = notes.at(-1);
    assert.ok(last.at_s + last.for_s < every_s);
  }
});

test("stretches of time are said as one would", () => {
  assert.deepEqual([40, 900, 3600, 5400, 3 * 86400].map(span), ["40 s", "15 min", "1 h", "1 h 30 min", "3 d"]);
});

test("outside the page an alarm of a simulation is called one", () => {
  const alarm = { priority: "high", name: "Water lost" };
  assert.equal(titleOf(alarm, false), "High: Water lost");
  assert.equal(titleOf(alarm, true), "Simulated: High: Water lost");
});
