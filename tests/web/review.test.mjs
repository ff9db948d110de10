import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/run/texts.js";
import { alarmRow } from "../../web/run/picture.js";

test("a run's alarms stand in the unit that the house reads", () => {
  const alarm = { came_at: "08:00", went_at: null, name: "Head hot", where: "still", value: 80, limit: 79, unit: "°C" };
  assert.deepEqual(alarmRow(alarm, String, "F").slice(3), ["176.0 °F", "174.2 °F", "still standing"]);
  assert.deepEqual(alarmRow({ ...alarm, value: 0.6, limit: null, unit: "K/min" }, String, "F").slice(3, 5), ["1.1 °F/min", "–"]);
  assert.deepEqual(alarmRow({ ...alarm, value: 96, limit: 90, unit: "%" }, String, "C").slice(3, 5), ["96 %", "90 %"]);
});
