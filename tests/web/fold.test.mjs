import assert from "node:assert/strict";
import { test } from "node:test";
import { fold } from "../../web/now/fold.js";
import { knots, stretches } from "../../web/now/polyline.js";
import { history, place, randomness, scan, T0, trace } from "./helpers.mjs";

const PLACES = new Map([["head", place("head", 20)], ["pot", place("pot", 20)]]);
const at = (index, value, period_s = 1) => scan(T0 + index * 1000, [["head", value, value === null ? "crc" : "ok", 0]], period_s);
const laid = (start, scans) => scans.reduce((sum, one) => fold(sum, one, PLACES), start);
const runs = (one) => stretches(knots(one, -Infinity, Infinity, (c) => c));

test("buckets filled live have the same extremes as the readings", () => {
  const random = randomness(3);
  const values = Array.from({ length: 300 }, () => Math.round((70 + 10 * random()) * 16) / 16);
  const start = history([trace("head", T0, 10_000, [75])]);
  const { lo, hi } = laid(start, values.map((value, index) => at(index + 10, value))).traces[0].segments[0];
  for (let bucket = 1; bucket <= 30; bucket += 1) {
    const own = values.slice((bucket - 1) * 10, bucket * 10);
    assert.equal(lo[bucket] / 16, Math.min(...own));
    assert.equal(hi[bucket] / 16, Math.max(...own));
  }
});

test("laying the same scan twice changes nothing", () => {
  const once = laid(history([trace("head", T0, 10_000, [75])]), [at(3, 80), at(14, 81)]);
  const twice = laid(once, [at(3, 80), at(14, 81)]);
  assert.deepEqual(twice.traces, once.traces);
});

test("a refused reading leaves no number", () => {
  const start = history([trace("head", T0, 1000, [75])]);
  assert.deepEqual(laid(start, [at(1, null)]).traces[0].segments, start.traces[0].segments);
});

test("ten seconds at ten seconds' cadence is no gap; ten at one second's is", () => {
  const start = history([trace("head", T0, 1000, [75])]);
  assert.equal(runs(laid(start, [at(10, 76, 10), at(20, 77, 10)]).traces[0]).length, 1);
  assert.equal(runs(laid(start, [at(10, 76), at(11, 77)]).traces[0]).length, 2);
});

test("a place that is read for the first time begins a line", () => {
  const begun = fold(history([trace("pot", T0, 1000, [75])]), at(1, 64.0625), PLACES);
  const head = begun.traces.find(({ key }) => key === "head");
  assert.equal(head.place, "head");
  assert.equal(head.segments[0].lo[0] / head.segments[0].counts_per_unit, 64.0625);
});

test("an unknown key is not made up", () => {
  const start = history([]);
  assert.deepEqual(fold(start, scan(T0, [["other", 20, "ok", 0]]), PLACES).traces, []);
});

test("what is given is not changed", () => {
  const start = history([trace("head", T0, 1000, [75])]);
  const copy = structuredClone(start);
  laid(start, [at(1, 80), at(2, 81)]);
  assert.deepEqual(start, copy);
});
