import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/batches/texts.js";
import "../../web/lots/texts.js";
import "../../web/run/texts.js";
import { madeOf } from "../../web/batches/plan.js";
import { storyOf } from "../../web/batches/story.js";
import { T0 } from "./helpers.mjs";

const at = new Date(T0).toISOString();
const batch = { id: "b", name: "rye 1", occupancies: [], lot_ids: [] };
const entry = (kind, more = {}) => ({ id: kind, version: 1, kind, at, name: "", mass_kg: null, volume_l: null, temperature_c: null, text: "", ...more });

test("a story is told with a kind that a newer service knows", () => {
  const stages = { entries: [entry("ph", { ph: 5.21 }), entry("first_skimming", { volume_l: 2 })], rests: [] };
  const told = storyOf(batch, stages, [], [], String, "C").map(({ title, value }) => [title, value]);
  assert.deepEqual(told, [["pH", "5.21"], ["first skimming", "2 L"]]);
});

test("a cask's loss stands beside its last weighing, and only there", () => {
  const weighed = (id, hour) => entry("cask_weight", { id, lot_id: "c", mass_kg: 25, at: new Date(T0 + hour * 3_600_000).toISOString() });
  const cask = { lot_id: "c", weighed_at: weighed("w2", 5).at, lost_pure_alcohol_l: 0.25, loss_percent_per_year: null, loss_why: "Too soon." };
  const told = storyOf(batch, { entries: [weighed("w1", 0), weighed("w2", 5)], rests: [], casks: [cask] }, [], [], String, "C");
  assert.deepEqual(told.map(({ about }) => about), ["Lost by itself since the first weighing: 0.250 L pure alcohol. What it loses in a year cannot be told yet. Too soon.", ""]);
});

test("a house in °F reads its story and its plan in °F, whatever was kept", () => {
  const stages = { entries: [entry("rest", { low_c: 62, high_c: 65.5 }), entry("gravity", { reading_sg: 1.05, temperature_c: 25 }), entry("gravity", { reading_sg: 0.9995, temperature_c: 20 }), entry("yeast", { temperature_c: -0.5 })], rests: [] };
  const told = storyOf(batch, stages, [], [], String, "F").map(({ value, about }) => [value, about]);
  assert.deepEqual(told, [["143.6 to 149.9 °F", ""], ["1.0500", "Read 1.050 at 77 °F, corrected to 20 °C."], ["0.9995", "Read 0.9995 at 68 °F, corrected to 20 °C."], ["", "At 31.1 °F."]]);
  const limits = [{ name: "Head hot", limit: 80, limit_now: 82, unit: "°C", holds: false, reason: "tried" }, { name: "Head fast", limit: 0.5, limit_now: 0.5, unit: "K/min", holds: true, reason: "" }];
  const plan = { runs: [], gaps: [], original_sg: null, final_sg: null, limits, ingredients: [{ kind: "liquor", name: "", mass_kg: null, volume_l: 80, temperature_c: 70, after_h: 0 }], rests: [{ name: "rest", low_c: 62, high_c: 65, planned_min: 60 }] };
  assert.deepEqual(madeOf(plan, "F").map(([, lines]) => lines), [["liquor, 80.0 L, 158 °F"], ["rest, 144 to 149 °F, 60 min"], ["Head hot: 176.0 °F then, 179.6 °F now. tried", "Head fast: 0.90 °F/min. "]]);
});
