import assert from "node:assert/strict";
import { test } from "node:test";
import { marksWithin } from "../../web/run/panel_plot.js";

test("a number of the axis stands whole below the title, or not at all", () => {
  const marks = (high, height_px) => marksWithin({ low: 0, high, step: 20 }, height_px);
  assert.deepEqual(marks(100, 150), [80, 60, 40, 20, 0]); // 100 is the top itself
  assert.deepEqual(marks(110, 150), [80, 60, 40, 20, 0]); // 100 is 14 px below it
  assert.deepEqual(marks(115, 150), [100, 80, 60, 40, 20, 0]); // 20 px
});
