import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/batches/texts.js";
import { storyOf } from "../../web/batches/story.js";
import { T0 } from "./helpers.mjs";

const at = new Date(T0).toISOString();
const batch = { id: "b", name: "rye 1", occupancies: [], lot_ids: [] };
const entry = (kind, more = {}) => ({ id: kind, version: 1, kind, at, name: "", mass_kg: null, volume_l: null, temperature_c: null, text: "", ...more });

test("a story is told with a kind that a newer service knows", () => {
  const stages = { entries: [entry("ph", { ph: 5.21 }), entry("first_skimming", { volume_l: 2 })], rests: [] };
  const told = storyOf(batch, stages, [], [], String).map(({ title, value }) => [title, value]);
  assert.deepEqual(told, [["pH", "5.21"], ["first skimming", "2 L"]]);
});
