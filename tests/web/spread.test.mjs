import assert from "node:assert/strict";
import { test } from "node:test";
import { rowsFor, spread } from "../../web/now/spread.js";
import { randomness } from "./helpers.mjs";

function gaps(wishes, starts) {
  const order = wishes.map((wish, index) => ({ start: starts[index], end: starts[index] + wish.size })).sort((a, b) => a.start - b.start);
  return order.slice(1).map(({ start }, index) => start - order[index].end);
}

test("labels with room stand where they belong", () => {
  assert.deepEqual(spread([{ at: 100, size: 40 }, { at: 300, size: 40 }], 0, 400), [80, 280]);
});

test("a pair that would touch parts evenly", () => {
  assert.deepEqual(spread([{ at: 200, size: 40 }, { at: 200, size: 40 }], 0, 400), [160, 200]);
});

test("labels keep the order of their lines", () => {
  const starts = spread([{ at: 210, size: 40 }, { at: 190, size: 40 }, { at: 200, size: 40 }], 0, 400);
  assert.ok(starts[1] < starts[2] && starts[2] < starts[0]);
});

test("no two labels overlap, and none leaves the edge while all fit", () => {
  const random = randomness(11);
  for (let turn = 0; turn < 2000; turn += 1) {
    const wishes = Array.from({ length: 1 + Math.floor(random() * 16) }, () => ({
      at: random() < 0.3 ? 250 : random() * 1000,
      size: 20 + random() * 40,
    }));
    const starts = spread(wishes, 0, 1100, 3);
    assert.ok(gaps(wishes, starts).every((gap) => gap >= 3 - 1e-3));
    wishes.forEach(({ size }, index) => {
      assert.ok(starts[index] >= 0 && starts[index] + size <= 1100, `${starts[index]} + ${size}`);
    });
  }
});

test("too many labels run on past the end rather than overlap", () => {
  const wishes = Array.from({ length: 10 }, () => ({ at: 50, size: 40 }));
  const starts = spread(wishes, 0, 100);
  assert.equal(Math.min(...starts), 0);
  assert.ok(gaps(wishes, starts).every((gap) => gap >= -1e-3));
});

test("marks that would touch go to the next row, and out where there is none", () => {
  const wishes = [{ at: 0, size: 50 }, { at: 40, size: 50 }, { at: 45, size: 50 }, { at: 100, size: 50 }];
  assert.deepEqual(rowsFor(wishes, 2, 5), [0, 1, null, 0]);
});
