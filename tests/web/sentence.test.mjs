import assert from "node:assert/strict";
import { test } from "node:test";
import { withNamed } from "../../web/now/lines.js";
import { sentence, title, troubles } from "../../web/now/sentence.js";
import { live, MINUTE, place, T0, textOf } from "./helpers.mjs";

const facts = (state, more = {}) => ({
  live: state, link: { phase: "open", since_ms: T0 }, recent: new Map(), pressure: null, unit: "C", zone: "UTC", now_ms: T0, ...more,
});
const said = (state, more) => textOf(sentence(facts(state, more)).says);
const titled = (state, more = {}) => title({ site: null, live: state, link: { phase: "open", since_ms: T0 }, ...more }, "C");

const POT = place("pot", 91.9375);
const HEAD = place("head", 79.5, { trend_per_min: 0.8 });
const SPOUT = place("spout", null, { last_good_value: 18.1, good_ms: T0 - 5 * MINUTE });

test("the hottest, what moves, what is steady", () => {
  const text = said(live([POT, HEAD, place("coolant_in", 12), place("room", 18)]));
  assert.equal(text, "The pot is the hottest at 91.9 °C, steady. The head is rising 0.8 °C a minute. The coolant in and room are steady.");
});

test("Fahrenheit turns numbers and rates", () => {
  const text = said(live([POT, HEAD]), { unit: "F" });
  assert.equal(text, "The pot is the hottest at 197.5 °F, steady. The head is rising 1.4 °F a minute.");
});

test("one probe alone is not the hottest of anything", () => {
  assert.equal(said(live([HEAD])), "The head is at 79.5 °C, rising 0.8 °C a minute.");
});

test("no more than two movers are named", () => {
  const movers = ["a", "b", "c", "d"].map((name, index) => place(name, 20, { trend_per_min: 1 + index }));
  assert.equal(said(live([POT, ...movers])), "The pot is the hottest at 91.9 °C, steady. The d is rising 4.0 °C a minute. The c is rising 3.0 °C a minute. 2 more are moving.");
});

test("places of one name are told apart by their vessels", () => {
  const ferments = ["fermenter 1", "fermenter 2"].map((vessel, index) =>
    place("ferment", 30 + index, { key: vessel, vessel }));
  assert.match(said(live(ferments)), /^The ferment of fermenter 2 is the hottest at 31.0 °C/);
});

test("a refused place is said to give no reading, and never its old number", () => {
  const state = live([POT, SPOUT]);
  assert.match(said(state), /The spout gives no good reading\.$/);
  assert.doesNotMatch(said(state), /18\.1/);
  const [trouble] = troubles(state, T0, "UTC");
  assert.equal(textOf(trouble.parts), "Spout since 11:55: it does not answer. Check its plug and its cable.");
});

test("one line a cause, however many it strikes", () => {
  const shorted = ["pot", "head", "column", "spout"].map((name) => place(name, null, { grade: "bus_low" }));
  const found = troubles(live(shorted), T0, "UTC");
  assert.equal(found.length, 1);
  assert.match(textOf(found[0].parts), /^4 places since 12:00: the data line is shorted\. Unplug/);
  assert.equal(said(live(shorted)), "No probe gives a good reading since 12:00.");
});

test("a silent logger leaves nothing to be taken for now", () => {
  const state = live([POT, HEAD], { age_s: 240, scan_ms: T0 - 4 * MINUTE });
  assert.equal(said(state), "No new reading since 11:56, for 4 min.");
  assert.deepEqual(troubles(state, T0, "UTC"), []);
  assert.match(titled(state), /^! no new readings/);
});

test("a service that does not answer is said once its last numbers are old", () => {
  const lost = { link: { phase: "lost", since_ms: T0 } };
  assert.match(said(live([POT], { age_s: 2 }), lost), /^The pot is at 91\.9/);
  assert.match(said(live([POT], { age_s: 60, scan_ms: T0 - MINUTE }), lost), /^The service has not answered since 11:59, for 60 s/);
  assert.match(said(null, lost), /^The service has not answered/);
});

test("an empty store, and places without probes", () => {
  const empty = live([], { slot: null, scan_ms: null, age_s: null });
  assert.equal(said(empty), "Nothing has been read yet.");
  assert.equal(said(live([])), "Nothing has been read yet.", "a logger on a bus without probes");
  const named = withNamed(empty, [{ id: "1", name: "pot", vessel_id: "v" }, { id: "2", name: "head", vessel_id: null }], [{ id: "v", name: "still" }]);
  assert.equal(said(named), "2 places are named, and no probe reads any of them yet.");
  assert.deepEqual(named.places.map(({ place: name, vessel, probe_id }) => [name, vessel, probe_id]), [["pot", "still", null], ["head", null, null]]);
});

test("the tab's title says the state", () => {
  assert.equal(titled(live([POT, HEAD])), "91.9 °C pot · Wormtub");
  assert.equal(titled(live([POT, SPOUT])), "! spout: no answer · 91.9 °C pot · Wormtub");
  assert.equal(titled(live([POT, SPOUT, { ...SPOUT, key: "x" }])), "! 2 without reading · 91.9 °C pot · Wormtub");
  assert.equal(titled(live([POT]), { site: { simulated: true } }), "91.9 °C pot · simulated · Wormtub");
  assert.equal(titled(live([POT]), { link: { phase: "lost", since_ms: T0 } }), "! no answer · Wormtub");
});

test("what it rests on names the pressure and the cadence", () => {
  const { rests } = sentence(facts(live([POT]), { pressure: { pressure_hpa: 1011.2, source: "barometer", says: "" } }));
  assert.match(rests, /^From one good probe read every second, at 1011 hPa\./);
});
