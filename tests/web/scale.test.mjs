import assert from "node:assert/strict";
import { test } from "node:test";
import { heightOf, marksOf, scaleFor, stepFor } from "../../web/now/scale.js";
import { randomness } from "./helpers.mjs";

const knots = (low, high) => [[{ at: 0, low, high, broken: false }]];

test("everything shown lies within the scale, with air, and its marks are round", () => {
  const random = randomness(5);
  for (let turn = 0; turn < 2000; turn += 1) {
    const low = 140 * random() - 30;
    const high = low + 120 * random() ** 3;
    const scale = scaleFor(knots(low, high), 8);
    assert.ok(heightOf(scale, low) > 0 && heightOf(scale, high) < 1);
    const marks = marksOf(scale);
    assert.ok(marks.length >= 2 && marks.length <= 12, String(marks));
    assert.ok(marks.every((mark) => Math.abs(mark / scale.step - Math.round(mark / scale.step)) < 1e-6));
  }
});

test("the scale stands still while a line only trembles", () => {
  const first = scaleFor(knots(20.1, 78.9), 8);
  assert.deepEqual(scaleFor(knots(20.2, 79.1), 8), first);
});

test("noise is not magnified to news", () => {
  const { low, high } = scaleFor(knots(20, 20.0625), 8);
  assert.ok(high - low >= 2);
});

test("an empty sheet has a scale too", () => {
  assert.deepEqual(scaleFor([], 8), { low: 0, high: 100, step: 20 });
});

test("steps are 1, 2 or 5 times a power of ten", () => {
  assert.deepEqual([0.3, 0.5, 1.1, 3, 7, 12].map(stepFor), [0.5, 0.5, 2, 5, 10, 20]);
});
