import assert from "node:assert/strict";
import { test } from "node:test";
import { linesOf } from "../../web/trends/drift.js";

const drift = (probe, place, difference_k) => ({ probe_id: `28-${probe}`, probe, place, place_id: `${place} id`, vessel: "old still", difference_k });

test("another probe in a place begins another line, and so does the same probe in another place", () => {
  const lines = linesOf([drift("red", "reflux_out", 0.1), drift("blue", "reflux_out", 0.8), drift("red", "pot", 0.2), drift("blue", "reflux_out", 0.7)]);
  assert.deepEqual(lines.map(({ label, own }) => [label, own.map(({ difference_k }) => difference_k)]), [
    ["red · reflux out · old still", [0.1]], ["blue · reflux out · old still", [0.8, 0.7]], ["red · pot · old still", [0.2]],
  ]);
  assert.equal(lines[1].newest.difference_k, 0.7);
  assert.deepEqual(linesOf([]), []);
});
