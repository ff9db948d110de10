import assert from "node:assert/strict";
import { test } from "node:test";
import { advance, firstView, following, LONGEST_MS, move, RANGES, serves, SHORTEST_MS, spanOf, startAt, wanted, zoom } from "../../web/now/view.js";
import { DAY, HOUR, MINUTE, randomness, T0 } from "./helpers.mjs";

const NOW = T0;
const STANDING = { following: false, from_ms: NOW - 10 * HOUR, to_ms: NOW - 4 * HOUR };

test("the ranges go from the last ten minutes to the last year", () => {
  assert.equal(RANGES[0][1], 10 * MINUTE);
  assert.equal(RANGES.at(-1)[1], 365 * DAY);
});

test("a following view keeps its length and moves with now", () => {
  const later = advance(firstView(NOW), NOW + MINUTE);
  assert.deepEqual([later.to_ms, spanOf(later), later.following], [NOW + MINUTE, 6 * HOUR, true]);
  assert.equal(advance(STANDING, NOW + MINUTE), STANDING);
});

test("dragging back leaves now; dragging on to now follows again", () => {
  const back = move(firstView(NOW), -0.5, NOW);
  assert.deepEqual([back.following, NOW - back.to_ms], [false, 3 * HOUR]);
  const forth = move(back, 0.6, NOW);
  assert.deepEqual([forth.following, forth.to_ms], [true, NOW]);
});

test("there and back again is following, though now has moved on", () => {
  const back = move(firstView(NOW), -0.5, NOW);
  assert.equal(move(back, 0.5, NOW + 5000).following, true);
  const slowly = [1, 2, 3].reduce((view) => move(view, -0.004, NOW), firstView(NOW));
  assert.equal(slowly.following, false);
});

test("zooming holds still what is pointed at", () => {
  const at = (view, fraction) => view.from_ms + fraction * spanOf(view);
  for (const anchor of [0, 0.3, 1]) {
    const closer = zoom(STANDING, 0.5, anchor, NOW);
    assert.equal(at(closer, anchor), at(STANDING, anchor));
    assert.equal(spanOf(closer), 3 * HOUR);
  }
  const pinched = zoom(STANDING, 0.5, 0.2, NOW, 0.6);
  assert.equal(at(pinched, 0.6), at(STANDING, 0.2));
});

test("a following view is held at its right edge", () => {
  const closer = zoom(firstView(NOW), 0.1, 0.2, NOW);
  assert.deepEqual([closer.following, closer.to_ms], [true, NOW]);
});

test("no hand leads out of bounds", () => {
  const random = randomness(7);
  let view = firstView(NOW);
  for (let turn = 0; turn < 3000; turn += 1) {
    view = random() < 0.5 ? move(view, 4 * random() - 2, NOW) : zoom(view, 4 * random(), random(), NOW, random());
    assert.ok(spanOf(view) >= SHORTEST_MS - 1 && spanOf(view) <= LONGEST_MS + 1);
    assert.ok(view.to_ms <= NOW && view.from_ms < view.to_ms);
    assert.equal(view.following, view.to_ms === NOW);
  }
});

test("what is loaded serves small moves and asks for more at large ones", () => {
  for (const pixels of [238, 884]) {
    const want = wanted(STANDING, pixels, NOW);
    assert.ok(serves(want, STANDING, pixels, NOW));
    assert.ok(serves(want, move(STANDING, -0.4, NOW), pixels, NOW));
    assert.ok(!serves(want, move(STANDING, -0.6, NOW), pixels, NOW));
    assert.ok(!serves(want, zoom(STANDING, 0.3, 0.5, NOW), pixels, NOW));
    assert.ok(!serves(want, zoom(STANDING, 3, 0.5, NOW), pixels, NOW));
  }
});

test("nothing in the future is asked for, and the live window stays near 600 points", () => {
  for (const pixels of [200, 238, 884, 3000]) {
    const view = following(10 * MINUTE, NOW);
    const want = wanted(view, pixels, NOW);
    assert.ok(want.to_ms <= NOW);
    assert.ok(spanOf(view) / want.bucket_ms <= 600);
  }
});

test("following for long asks for a fresh start in time", () => {
  const view = firstView(NOW);
  const want = wanted(view, 884, NOW);
  const grown = { ...want, to_ms: NOW + 20 * HOUR };
  assert.ok(!serves(grown, advance(view, NOW + 20 * HOUR), 884, NOW + 20 * HOUR));
});

test("a view can start at an instant", () => {
  assert.equal(startAt(STANDING, NOW - 3 * DAY, NOW).from_ms, NOW - 3 * DAY);
});
