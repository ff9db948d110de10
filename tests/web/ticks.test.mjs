import assert from "node:assert/strict";
import { test } from "node:test";
import { contextAt, instants, stepFor, ticks } from "../../web/now/ticks.js";
import { DAY, HOUR, MINUTE } from "./helpers.mjs";

const ZONE = "Europe/Copenhagen";
const SPANS = [MINUTE, 10 * MINUTE, HOUR, 6 * HOUR, DAY, 7 * DAY, 30 * DAY, 365 * DAY, 730 * DAY];

test("no axis is marked more often than it has room for, nor left bare", () => {
  for (const zone of [ZONE, "Asia/Kathmandu", "America/St_Johns", "UTC"]) {
    for (const span of SPANS) {
      for (const most of [2, 3, 5, 12]) {
        const from = Date.UTC(2026, 2, 27, 5, 17, 3);
        const found = ticks(from, from + span, most, zone);
        assert.ok(found.length <= most + 1, `${zone} ${span} ${most}: ${found.length}`);
        assert.ok(found.length >= 1 || most <= 2, `${zone} ${span} ${most}: none`);
      }
    }
  }
});

test("marks rise, and lie within what is shown", () => {
  const from = Date.UTC(2026, 9, 24, 22);
  const found = ticks(from, from + 3 * DAY, 12, ZONE).map(({ at_ms }) => at_ms);
  assert.deepEqual(found, [...found].sort((a, b) => a - b));
  assert.ok(found.every((at) => at >= from && at <= from + 3 * DAY));
});

test("hours stay on the local clock across both of its changes", () => {
  for (const day of [Date.UTC(2026, 2, 28, 23), Date.UTC(2026, 9, 24, 22)]) {
    const found = ticks(day, day + 2 * DAY, 16, ZONE);
    assert.deepEqual([...new Set(found.map(({ text }) => text))].sort(), ["00:00", "03:00", "06:00", "09:00", "12:00", "15:00", "18:00", "21:00"]);
  }
});

test("minutes stand on the local clock where its offset is not a whole hour", () => {
  const from = Date.UTC(2026, 0, 1);
  const found = instants(from, from + HOUR, { kind: "minutes", count: 15 }, "Asia/Kathmandu");
  assert.deepEqual(found, [0, 15, 30, 45, 60].map((minutes) => from + minutes * MINUTE));
});

test("the lower line says the day at the left edge and where it changes", () => {
  const from = Date.UTC(2026, 0, 1, 20);
  const found = ticks(from, from + 8 * HOUR, 8, "UTC");
  assert.equal(contextAt(from, from + 8 * HOUR, 8, "UTC"), "Thu 1 Jan");
  assert.deepEqual(found.filter(({ context }) => context).map(({ text, context }) => [text, context]), [["00:00", "Fri 2 Jan"]]);
});

test("a year is marked in months", () => {
  const from = Date.UTC(2025, 10, 20);
  const found = ticks(from, from + 365 * DAY, 7, "UTC");
  assert.deepEqual(found.map(({ text }) => text), ["Jan", "Mar", "May", "Jul", "Sept", "Nov"]);
  assert.equal(found[0].context, "2026");
});

test("steps are round", () => {
  assert.deepEqual(stepFor(HOUR, 12), { kind: "minutes", count: 5 });
  assert.deepEqual(stepFor(7 * DAY, 4), { kind: "days", count: 2 });
  assert.deepEqual(stepFor(700 * DAY, 4), { kind: "months", count: 6 });
});
