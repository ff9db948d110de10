import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/banner/texts.js";
import "../../web/vessels/texts.js";
import "../../web/alarms/texts.js";
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
  first_action: "Cut the heat.", time_to_act_s: 120, covers: [], shelved_until: null, acknowledged_by: null, ...more,
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
  assert.equal(amount(900, "s", "C"), "900 s");
  assert.equal(amount(-0.001, null, "C"), "0");
});

test("a listener hears what and what to do, but no number that would be said anew each second", () => {
  assert.equal(whereOf({ place: null, vessel: null }), "");
  assert.equal(spokenText(alarm("a", "high")), "High alarm. Rule a, coolant out of Still 1. Cut the heat.");
});

test("the page's sentence says what calls, what is seen and what is hidden", () => {
  const stages = [{ vessel: "Still 1", stage: "spirit", source: "guessed", phase: "boiling" }];
  const none = tellAlarms({ now: [], sounding: false, highest: null, stages });
  assert.equal(textOf(none.says), "No alarm stands.");
  assert.match(none.rests, /^Still 1: spirit run, boiling, guessed from its temperatures/);
  const [one, seen] = [alarm("a", "high"), alarm("b", "low", "acknowledged")];
  const hidden = alarm("c", "high", "held", { covers: ["suppressed"] });
  const told = tellAlarms({ now: [seen, one, hidden], sounding: true, highest: "high", stages: [] });
  assert.equal(textOf(told.says), "Rule a calls, coolant out of Still 1. One is seen, and still so.");
  assert.equal(told.rests, "One is hidden for now; it is watched on underneath.");
  assert.match(textOf(tellAlarms({ now: [seen], sounding: false, highest: "low", stages: [] }).says), /^Nothing calls\. One is seen/);
  assert.match(textOf(tellAlarms({ now: [one, alarm("d", "low")], sounding: true, highest: "high", stages: [] }).says), /^2 alarms call, the most urgent first: Rule a/);
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
