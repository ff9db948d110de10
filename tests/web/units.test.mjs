import assert from "node:assert/strict";
import { test } from "node:test";
import { degrees, degreesApart, slope, temperature } from "../../web/shared/units.js";

test("fixed points stand at their Fahrenheit values", () => {
  assert.equal(degrees(0, "F"), 32);
  assert.equal(degrees(100, "F"), 212);
  assert.equal(degrees(-40, "F"), -40);
  assert.equal(degrees(78.3, "C"), 78.3);
});

test("a difference has no offset", () => {
  assert.equal(degreesApart(10, "F"), 18);
});

test("one decimal, a true minus, never a minus before zero", () => {
  assert.equal(temperature(87.9375, "C"), "87.9");
  assert.equal(temperature(-0.04, "C"), "0.0");
  assert.equal(temperature(-12.5, "C"), "\u221212.5");
  assert.equal(temperature(78.3, "F"), "172.9");
});

test("a slope carries its sign and rounds to an unsigned nothing", () => {
  assert.equal(slope(0.21, "C"), "+0.2");
  assert.equal(slope(-0.21, "C"), "\u22120.2");
  assert.equal(slope(0.04, "C"), "0.0");
  assert.equal(slope(-0.04, "C"), "0.0");
  assert.equal(slope(0.04, "F"), "+0.1");
});
