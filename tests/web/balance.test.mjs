import assert from "node:assert/strict";
import { test } from "node:test";
import { isEmpty } from "../../web/batches/balance.js";

const term = (name, pure_alcohol_l, error_l = 0) => ({ name, pure_alcohol_l, error_l });

test("a balance of which nothing was entered is empty, and does not close", () => {
  const nothing = { came: [term("in_wash", 0), term("received", 0)], found: [term("in_store", 0)], doubts: [] };
  assert.equal(isEmpty(nothing), true);
  assert.equal(isEmpty({ came: [], found: [], doubts: [] }), true);
  assert.equal(isEmpty({ ...nothing, found: [term("in_store", 0.4, 0.1)] }), false);
  assert.equal(isEmpty({ ...nothing, came: [term("in_wash", 0, 0.2)] }), false);
  assert.equal(isEmpty({ ...nothing, doubts: [{ sentence: "It cannot be." }] }), false);
});
