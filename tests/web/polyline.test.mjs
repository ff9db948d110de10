import assert from "node:assert/strict";
import { test } from "node:test";
import { band, knots, middle, nearest, silences, stretches } from "../../web/now/polyline.js";
import { T0, trace } from "./helpers.mjs";

const same = (celsius) => celsius;
const all = (one) => knots(one, -Infinity, Infinity, same);

test("each bucket's own extremes arrive, in the unit asked for", () => {
  const found = knots(trace("head", T0, 10_000, [[78, 79.5], [80, 80]]), T0, T0 + 20_000, (c) => c * 1.8 + 32);
  assert.deepEqual(found.map(({ low, high }) => [low, high]), [[172.4, 175.1], [176, 176]]);
  assert.deepEqual(found.map(({ at }) => at - T0), [5000, 15_000]);
});

test("empty buckets of a slow cadence do not break a line; a gap does", () => {
  const slow = trace("head", T0, 1000, [20, null, null, 21, null, null, 22]);
  assert.equal(stretches(all(slow)).length, 1);
  const gap = trace("head", T0, 1000, [20, null, null, 21, null, null, 22], [3]);
  assert.deepEqual(stretches(all(gap)).map((run) => run.length), [1, 2]);
});

test("a break at an empty bucket holds until the next reading", () => {
  const found = all(trace("head", T0, 1000, [20, null, 21, 22], [1]));
  assert.deepEqual(found.map(({ broken }) => broken), [false, true, false]);
});

test("a line runs off the edges: one knot beyond on either side where there is one", () => {
  const found = knots(trace("head", T0, 60_000, Array(100).fill(20)), T0 + 50 * 60_000, T0 + 60 * 60_000, same);
  assert.ok(found[0].at < T0 + 50 * 60_000 && found.at(-1).at > T0 + 60 * 60_000);
  assert.ok(found.length <= 16);
});

test("the newest bucket does not stand in the future", () => {
  const now = T0 + 4000;
  assert.ok(knots(trace("head", T0, 600_000, [20]), T0, now, same)[0].at <= now);
});

test("the drawn band reaches every extreme and nothing more", () => {
  const runs = stretches(all(trace("head", T0, 1000, [[20, 21], [19, 25], null, [22, 22]], [3])));
  const path = band(runs, 500);
  assert.equal(Math.max(...path.y.filter((y) => y !== null)), 25);
  assert.equal(Math.min(...path.y.filter((y) => y !== null)), 19);
  assert.ok(!path.y.includes(null), "the stretch without any height has no band");
});

test("the pen is lifted at gaps, and a lone reading is still a stroke", () => {
  const path = middle(stretches(all(trace("head", T0, 1000, [20, 21, null, 30], [3]))), 400);
  assert.deepEqual(path.y, [20, 21, null, 30, 30]);
  assert.equal(path.x[4] - path.x[3], 800);
});

test("the nearest bucket is found within reach only", () => {
  const found = all(trace("head", T0, 1000, [20, 21]));
  assert.equal(nearest(found, T0 + 1400, 1000).low, 21);
  assert.equal(nearest(found, T0 + 90_000, 1000), null);
});

test("what no line has is silence; what one line has is not", () => {
  const head = stretches(all(trace("head", T0, 1000, Array(60).fill(20))));
  const pot = stretches(all(trace("pot", T0 + 120_000, 1000, Array(60).fill(20))));
  const found = silences([head, pot], T0, T0 + 180_000, 30_000);
  assert.deepEqual(found.map(([from, to]) => [Math.round((from - T0) / 1000), Math.round((to - T0) / 1000)]), [[60, 121]]);
  assert.deepEqual(silences([head, pot, stretches(all(trace("room", T0, 1000, Array(180).fill(20))))], T0, T0 + 180_000, 30_000), []);
});
