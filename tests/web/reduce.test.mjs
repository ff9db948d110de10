import assert from "node:assert/strict";
import { test } from "node:test";
import { healthOf } from "../../web/now/health.js";
import { firstState, reduce } from "../../web/now/reduce.js";
import { spanOf } from "../../web/now/view.js";
import { history, HOUR, live, MINUTE, place, scan, T0, trace } from "./helpers.mjs";

const after = (state, ...events) => events.reduce(reduce, state);
const loaded = (more) =>
  after(firstState(T0), { name: "live", live: live([place("pot", 91), place("head", 79)], more) }, { name: "link", phase: "open" });
const read = (at_ms, pot, head = 79) => ({ name: "scan", scan: scan(at_ms, [["pot", pot, "ok", 0.1], ["head", head, head === null ? "crc" : "ok", null]]) });
const placed = (state, key) => state.live.places.find((one) => one.key === key);

test("a scan brings values, trends and ages, and moves a following view", () => {
  const state = after(loaded(), { name: "tick", elapsed_ms: 900 }, read(T0 + 1000, 91.5));
  assert.deepEqual([placed(state, "pot").value, placed(state, "pot").trend_per_min, state.live.age_s], [91.5, 0.1, 0]);
  assert.equal(state.view.to_ms, T0 + 1000);
});

test("a refused reading takes the number away and keeps when it was last good", () => {
  const head = placed(after(loaded(), read(T0 + 1000, 91, null)), "head");
  assert.deepEqual([head.value, head.grade, head.last_good_value, head.good_ms, head.trend_per_min], [null, "crc", 79, T0, null]);
});

test("readings go stale with time alone", () => {
  const fresh = after(loaded(), { name: "tick", elapsed_ms: 4900 });
  const old = after(fresh, { name: "tick", elapsed_ms: 200 });
  const health = (state) => healthOf(placed(state, "pot"), state.live).grade;
  assert.deepEqual([health(fresh), health(old)], ["ok", "stale"]);
  assert.equal(health(after(old, read(T0 + 6000, 91))), "ok");
});

test("a clock that is wrong does not make old readings fresh", () => {
  const wrong = loaded({ now_ms: T0 - 30 * MINUTE, age_s: 90 });
  assert.equal(healthOf(placed(wrong, "pot"), wrong.live).grade, "stale");
});

test("scans replayed after a break do not pass for new ones", () => {
  const broken = after(loaded(), { name: "tick", elapsed_ms: 60_000 }, { name: "link", phase: "lost" });
  const replayed = after(broken, read(T0 + 1000, 91), read(T0 + 2000, 91));
  assert.equal(healthOf(placed(replayed, "pot"), replayed.live).grade, "stale");
});

test("an older scan, or one that came twice, changes no value", () => {
  const state = after(loaded(), read(T0 + 2000, 92), read(T0 + 1000, 50), read(T0 + 2000, 51));
  assert.equal(placed(state, "pot").value, 92);
});

test("scans that come while history loads are not lost from it", () => {
  const before = after(loaded(), read(T0 + 1000, 92), read(T0 + 2000, 93));
  const state = after(before, { name: "history", history: history([trace("pot", T0, 1000, [91])]) });
  const [segment] = state.history.traces.find(({ key }) => key === "pot").segments;
  assert.deepEqual(segment.lo.map((count) => count / 16), [91, 92, 93]);
});

test("scans that came while the state loaded are applied to it", () => {
  const early = after(firstState(T0), read(T0 + 1000, 95), { name: "live", live: live([place("pot", 91), place("head", 79)]) });
  assert.equal(placed(early, "pot").value, 95);
});

test("without new readings a following view goes on, so that the silence shows", () => {
  const state = after(loaded(), { name: "tick", elapsed_ms: 10 * MINUTE });
  assert.equal(state.view.to_ms, T0 + 10 * MINUTE);
});

test("ranges follow, dragging stands, the way back follows", () => {
  const hour = after(loaded(), { name: "range", span_ms: HOUR });
  assert.deepEqual([hour.view.following, spanOf(hour.view)], [true, HOUR]);
  const moved = after(hour, { name: "move", fraction: -0.5 });
  assert.equal(moved.view.following, false);
  assert.equal(after(moved, read(T0 + 1000, 91)).view, moved.view);
  assert.equal(after(moved, { name: "follow" }).view.following, true);
});

test("a line is shown alone and let go again; a choice whose line has gone is dropped", () => {
  const alone = after(loaded(), { name: "alone", key: "head" });
  assert.equal(alone.alone, "head");
  assert.equal(after(alone, { name: "alone", key: "head" }).alone, null);
  assert.equal(after(alone, { name: "live", live: live([place("pot", 91)]) }).alone, null);
  const vessel = after(loaded(), { name: "vessel", vessel: "still" });
  assert.equal(after(vessel, { name: "live", live: live([place("pot", 91, { vessel: "other" })]) }).vessel, undefined);
});

test("another program version is noticed", () => {
  const site = { name: "", time_zone: "UTC", temperature_unit: "C", simulated: false, store_epoch: "", program_version: "1" };
  const first = after(loaded(), { name: "site", site });
  assert.equal(first.updated, false);
  assert.equal(after(first, { name: "site", site: { ...site, program_version: "2" } }).updated, true);
});
