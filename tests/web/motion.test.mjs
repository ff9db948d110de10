import assert from "node:assert/strict";
import { test } from "node:test";
import { motionOf, sinceWhen } from "../../web/now/motion.js";
import { HOUR, MINUTE, place, randomness, T0 } from "./helpers.mjs";

const STEADY = { direction: "steady", c_per_min: 0 };
const random = randomness(2);
const noise = () => 0.12 * (random() - 0.5);
/** Three hours by the minute, as a function of the minute. */
const past = (shape, broken = -1) =>
  Array.from({ length: 180 }, (_, minute) => {
    const middle = shape(minute) + noise();
    return { at: T0 - 3 * HOUR + minute * MINUTE, low: middle - 0.05, high: middle + 0.05, broken: minute === broken };
  });
const minuteOf = ({ from_ms }) => Math.round((from_ms - (T0 - 3 * HOUR)) / MINUTE);

test("steady since the climb ended, within the window's half", () => {
  const found = past((minute) => Math.min(80, 20 + minute));
  const since = sinceWhen(STEADY, found);
  assert.ok(Math.abs(minuteOf(since) - 60) <= 4, String(minuteOf(since)));
  assert.equal(since.open, false);
});

test("rising since it was lowest, through small setbacks", () => {
  const found = past((minute) => (minute < 90 ? 20 : 20 + (minute - 90) * 0.4 - (minute === 140 ? 0.2 : 0)));
  assert.ok(Math.abs(minuteOf(sinceWhen({ direction: "rising", c_per_min: 0.4 }, found)) - 90) <= 3);
});

test("falling is rising upside down", () => {
  const found = past((minute) => (minute < 90 ? 90 : 90 - (minute - 90) * 0.4));
  assert.ok(Math.abs(minuteOf(sinceWhen({ direction: "falling", c_per_min: -0.4 }, found)) - 90) <= 3);
});

test("a climb that was much faster before is not dated", () => {
  const found = past((minute) => (minute < 90 ? 20 : minute < 100 ? 20 + 6 * (minute - 90) : 80 + 0.1 * (minute - 100)));
  assert.equal(sinceWhen({ direction: "rising", c_per_min: 0.1 }, found), null);
});

test("what was so from the beginning is open", () => {
  assert.equal(sinceWhen(STEADY, past(() => 20)).open, true);
});

test("nothing is said of a time before a gap", () => {
  const since = sinceWhen(STEADY, past(() => 20, 100));
  assert.deepEqual([minuteOf(since), since.open], [100, true]);
});

test("a boiling head that wavers is steady; a slow climb is not", () => {
  const wavering = past((minute) => 79 + 0.15 * Math.sin(minute));
  assert.equal(motionOf(place("head", 79.1, { trend_per_min: 0.14 }), wavering).direction, "steady");
  const climbing = past((minute) => 79 + 0.15 * minute);
  const { direction, c_per_min } = motionOf(place("head", 79 + 0.15 * 180, { trend_per_min: 0.1 }), climbing);
  assert.equal(direction, "rising");
  assert.ok(Math.abs(c_per_min - 0.15) < 0.04);
});

test("steam's arrival is said at once, by the trend", () => {
  const motion = motionOf(place("head", 40, { trend_per_min: 18 }), past(() => 20));
  assert.deepEqual(motion, { direction: "rising", c_per_min: 18 });
});

test("too little history: the trend alone, or nothing", () => {
  assert.equal(motionOf(place("head", 20, { trend_per_min: 0.02 }), []).direction, "steady");
  assert.equal(motionOf(place("head", 20, { trend_per_min: null }), []), null);
  assert.equal(sinceWhen(STEADY, []), null);
});
