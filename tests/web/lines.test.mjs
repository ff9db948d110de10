import assert from "node:assert/strict";
import { test } from "node:test";
import { linesOf, nameOf, vesselsOf } from "../../web/now/lines.js";
import { live, place, T0, trace } from "./helpers.mjs";

const named = (places, traces = []) => linesOf(live(places), traces).map(({ name, under }) => [name, under]);

test("a place goes by its plain name; its vessel stands under it where there are several", () => {
  assert.deepEqual(named([place("coolant_in", 12)]), [["coolant in", ""]]);
  assert.deepEqual(named([place("pot", 90), place("room", 18, { vessel: null })]), [["pot", "still"], ["room", ""]]);
});

test("places of one name go by their vessels", () => {
  const ferments = ["fermenter 1", "fermenter 2"].map((vessel) => place("ferment", 30, { key: vessel, vessel }));
  assert.deepEqual(named(ferments), [["fermenter 1", "ferment"], ["fermenter 2", "ferment"]]);
});

test("a probe without a place goes by the parts of its id that tell it apart", () => {
  assert.equal(nameOf({ probe_id: "28-0000075a1b2c" }), "28…5a1b2c");
});

test("pressure is no line of the sheet", () => {
  const pressure = place("air", 1009, { quantity: "pressure_hpa" });
  assert.deepEqual(named([pressure, place("pot", 90)]), [["pot", ""]]);
});

test("what is only in the past is a line without a number", () => {
  const [pot, old] = linesOf(live([place("pot", 90)]), [trace("pot", T0, 1000, [90]), trace("old", T0, 1000, [50])]);
  assert.ok(pot.live && pot.trace);
  assert.deepEqual([old.live, old.name], [null, "old"]);
});

test("what stands in no vessel comes last among the vessels", () => {
  const lines = linesOf(live([place("room", 18, { vessel: null }), place("pot", 90)]), []);
  assert.deepEqual(vesselsOf(lines), ["still", null]);
});
