// Offsets and dates of clock changes: IANA time zone database (Europe/Copenhagen goes forward on
// 29 March 2026 at 01:00 UTC and back on 25 October 2026 at 01:00 UTC).
import assert from "node:assert/strict";
import { test } from "node:test";
import { age, ago, instantOf, offsetAt, saidTime, timeOfDay, wallOf } from "../../web/shared/clock.js";
import { DAY, HOUR, MINUTE } from "./helpers.mjs";

const ZONE = "Europe/Copenhagen";

test("an instant and its wall clock are each other's inverse", () => {
  for (const zone of [ZONE, "America/St_Johns", "Asia/Kathmandu", "Australia/Lord_Howe", "UTC"]) {
    for (let at = Date.UTC(2026, 0, 1, 3); at < Date.UTC(2027, 0, 1); at += 13 * DAY + 7 * HOUR) {
      const { y, mo, d, h, mi } = wallOf(at, zone);
      assert.equal(instantOf(zone, y, mo, d, h * 60 + mi), at, `${zone} ${new Date(at).toISOString()}`);
    }
  }
});

test("local midnight follows the clock changes", () => {
  assert.equal(instantOf(ZONE, 2026, 3, 29), Date.UTC(2026, 2, 28, 23));
  assert.equal(instantOf(ZONE, 2026, 3, 30), Date.UTC(2026, 2, 29, 22));
  assert.equal(instantOf(ZONE, 2026, 10, 26), Date.UTC(2026, 9, 25, 23));
});

test("parts may overflow", () => {
  assert.equal(instantOf("UTC", 2026, 1, 32), Date.UTC(2026, 1, 1));
});

test("an hour skipped in spring is taken as if the clock had not yet moved", () => {
  assert.equal(timeOfDay(instantOf(ZONE, 2026, 3, 29, 150), ZONE), "03:30");
});

test("offsets may be of half and quarter hours", () => {
  assert.equal(offsetAt(Date.UTC(2026, 0, 1), "Asia/Kathmandu"), (5 * 60 + 45) * MINUTE);
});

test("a time is said as shortly as it is still unmistakable", () => {
  const now = Date.UTC(2026, 2, 14, 20);
  assert.equal(saidTime(now - HOUR, now, "UTC"), "19:00");
  assert.equal(saidTime(now - 19 * HOUR, now, "UTC"), "01:00");
  assert.equal(saidTime(now - DAY, now, "UTC"), "Fri 20:00");
  assert.equal(saidTime(now - 30 * DAY, now, "UTC"), "12 Feb 20:00");
  assert.equal(saidTime(now - 400 * DAY, now, "UTC"), "7 Feb 2025");
});

test("ages count in the largest unit that says at least two", () => {
  assert.equal(age(0), "0 s");
  assert.equal(age(119_000), "119 s");
  assert.equal(age(120_000), "2 min");
  assert.equal(age(5.99 * HOUR), "6 h");
  assert.equal(age(3 * DAY), "3 d");
});

test("a reading is just now for as long as its cadence allows", () => {
  assert.equal(ago(2900, 1), "just now");
  assert.equal(ago(3000, 1), "3 s ago");
  assert.equal(ago(11_000, 10), "just now");
});
