import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/compare/texts.js";
import "../../web/run/texts.js";
import "../../web/record/texts.js";
import { gapsOf, marksOf, panelsOf } from "../../web/compare/picture.js";
import { keyedLess, saidToTheMinute } from "../../web/run/format.js";
import { HOUR, T0 } from "./helpers.mjs";

const run = (id, after_ms) => ({
  run: { id, batch: "rye 1", started_at: new Date(T0 + after_ms).toISOString() }, lines: [], collected: [],
  strengths: [{ x: 60, abv: 70, abv_error: 1 }], marks: [{ key: "hearts", name: "Hearts", x: 60 }],
});
const found = (...runs) => ({ align: "heat_on", runs, gaps: runs.map((one) => ({ run_id: one.run.id, about: "water", why: "No water was read." })) });
const names = (panels) => panels.flatMap(({ lines }) => lines.map(({ name }) => name));

test("two runs of one batch and day are told apart by their place in the order", () => {
  const two = found(run("a", 0), run("b", HOUR));
  const [first, second] = names(panelsOf(two, [], { from: 0, to: 100 }, "C", "UTC"));
  assert.deepEqual([first[0], second[0], first.slice(1)], ["1", "2", second.slice(1)]);
  assert.deepEqual(gapsOf(two).map(({ why }) => why), ["1, 2: No water was read."]);
  two.gaps[1].why = "No flow was read.";
  assert.deepEqual(gapsOf(two).map(({ why }) => why), ["1 rye 1: No water was read.", "2 rye 1: No flow was read."]);
  assert.deepEqual(marksOf(two).map(({ title }) => title), ["Hearts, 1 rye 1", "Hearts, 2 rye 1"]);
});

test("a run by itself needs no number", () => {
  const one = found(run("a", 0));
  assert.match(names(panelsOf(one, [], { from: 0, to: 100 }, "C", "UTC"))[0], /^rye 1/);
  assert.deepEqual(gapsOf(one).map(({ why }) => why), ["No water was read."]);
});

test("two runs of one day, long ago, are said with the time of day", () => {
  const far = T0 + 400 * 24 * HOUR;
  const said = [T0, T0 + HOUR].map((ms) => saidToTheMinute(ms, far, "UTC"));
  assert.notEqual(said[0], said[1]);
  assert.match(said[0], /\d{4}, \d\d:\d\d$/);
  assert.match(saidToTheMinute(T0, T0 + HOUR, "UTC"), /^\d\d:\d\d$/);
});

test("a difference of time is told in hours and minutes, as the times are", () => {
  const took = { name: "duration_min", unit: "min", decimals: 0 };
  assert.deepEqual([399, -61, 1, 0.2].map((less) => keyedLess(took, less)), ["+6 h 39 min", "−1 h 01 min", "+1 min", "0 min"]);
  assert.equal(keyedLess({ name: "hearts_share", unit: "", decimals: 2 }, 0.062), "+6.2");
  assert.equal(keyedLess({ name: "hearts_abv", unit: "% vol", decimals: 1 }, -0.3), "−0.3");
});
