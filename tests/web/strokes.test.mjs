import assert from "node:assert/strict";
import { test } from "node:test";
import { DASHES, strokes, TONES } from "../../web/now/strokes.js";

const PLACES = ["pot", "head", "column", "coolant_in", "coolant_out", "spout", "ferment", "mash", "room"];
const lines = (names) => names.map((place) => ({ place }));

test("no two lines share both colour and dash", () => {
  const many = [...PLACES, "ferment", "ferment", "ferment", null, null, null, "thermowell", "jacket", ...PLACES, null, "wall"];
  const given = strokes(lines(many)).map(({ tone, dash }) => `${tone}/${dash}`);
  assert.equal(new Set(given).size, many.length);
});

test("the still's places differ by dash alone where they differ by colour only slightly", () => {
  const [pot, head, column, coolantIn, coolantOut] = strokes(lines(PLACES));
  assert.notEqual(coolantIn.dash, coolantOut.dash);
  assert.notEqual(column.dash, head.dash);
  assert.notEqual(pot.tone, head.tone);
});

test("a place keeps its stroke whatever else is there", () => {
  assert.deepEqual(strokes(lines(["head"]))[0], strokes(lines(["pot", null, "head"]))[2]);
});

test("every stroke has a colour and a dash that exist", () => {
  for (const { tone, dash } of strokes(lines(Array(TONES * DASHES.length).fill(null)))) {
    assert.ok(tone < TONES && dash < DASHES.length);
  }
});
