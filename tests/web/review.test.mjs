import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/run/texts.js";
import "../../web/record/texts.js";
import { readAt } from "../../web/run/panels.js";
import { alarmRow } from "../../web/run/picture.js";
import { toldOf } from "../../web/run/strips.js";
import { HOUR, MINUTE, T0 } from "./helpers.mjs";

const iso = (ms) => new Date(ms).toISOString();

test("a run's alarms stand in the unit that the house reads", () => {
  const alarm = { came_at: "08:00", went_at: null, name: "Head hot", where: "still", value: 80, limit: 79, unit: "°C" };
  assert.deepEqual(alarmRow(alarm, String, "F").slice(3), ["176.0 °F", "174.2 °F", "still standing"]);
  assert.deepEqual(alarmRow({ ...alarm, value: 0.6, limit: null, unit: "K/min" }, String, "F").slice(3, 5), ["1.1 °F/min", "–"]);
  assert.deepEqual(alarmRow({ ...alarm, value: 96, limit: 90, unit: "%" }, String, "C").slice(3, 5), ["96 %", "90 %"]);
});

test("the hand reads the nearest mark, alarm, heat and note beside the lines", () => {
  const spell = (name, from, to) => ({ came_at: iso(from), went_at: iso(to), name, where: "still", priority: "high" });
  const review = {
    run: { to_ms: T0 + 10 * HOUR, ended_at: null },
    alarms: [spell("Head hot", T0 + HOUR, T0 + 3 * HOUR), spell("Coolant warm", T0 + 2 * HOUR, T0 + 4 * HOUR)],
    power_changes: [{ at: iso(T0 + 5 * HOUR), power_kw: 1.8, text: "" }],
    notes: [{ at: iso(T0 + 2 * HOUR), text: "smells of apple", kind: "note" }],
  };
  const line = { name: "head", path: { x: [T0 + 2 * HOUR], y: [80.04] } };
  const marks = [T0, T0 + 2 * HOUR + MINUTE].map((x, at) => ({ x, kind: "hearts", text: "", title: `mark ${at}` }));
  const picture = { panels: [{ lines: [line], decimals: 1 }], marks, told: toldOf(review, "UTC"), from: T0, to: T0 + 10 * HOUR };
  const at = (hours) => readAt(picture, T0 + hours * HOUR);
  assert.deepEqual(at(2), ["head 80.0", "mark 1", "Coolant warm, still: 14:00 to 16:00", "14:00 smells of apple"]);
  assert.deepEqual(at(1.5), ["Head hot, still: 13:00 to 15:00"]);
  assert.deepEqual(at(5), ["17:00 1.8 kW"]);
  assert.deepEqual(at(8), []); // a heat is read where it was turned, not hours after
});
