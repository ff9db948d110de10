import assert from "node:assert/strict";
import { test } from "node:test";
import { cutOf, fitting, labelled, merged, nextNumber, openJar, overlaid, piecesOf } from "../../web/record/run.js";
import { MINUTE, randomness, T0 } from "./helpers.mjs";
import { likelyOf } from "../../web/record/measuring.js";

const iso = (ms) => new Date(ms).toISOString();
const mark = (kind, ms, more = {}) => ({ id: `${kind} ${ms}`, run_id: "r", kind, at: iso(ms), power_kw: null, text: "", smell: [], source: "tap", version: 1, ...more });
const jar = (number, from, to = null, more = {}) => ({ id: `jar ${number}`, run_id: "r", number, began_at: iso(from), ended_at: to && iso(to), cut: null, volume_l: null, version: 1, ...more });
const run = (more = {}) => ({ id: "r", vessel_id: "v", batch: "rye 1", purpose: "spirit", started_at: iso(T0), ended_at: null, charge: null, marks: [], jars: [], ...more });
const waits = (kind, method, subject, body, id = subject) => ({ id, subject, kind, method, path: "", scope: "r", body, label: "", made_ms: T0, attempts: 0, trouble: null });

test("what waits is laid over what the service has, and goes once the service has it", () => {
  const known = run({ marks: [mark("first_drop", T0)], jars: [jar(1, T0)] });
  const entries = [
    waits("mark", "POST", "m2", { kind: "hearts", at: iso(T0 + MINUTE) }),
    waits("mark", "PUT", "m2", { at: iso(T0 + 2 * MINUTE), version: 1 }, "x1"),
    waits("jar", "POST", "j2", { number: 2, at: iso(T0 + 3 * MINUTE) }),
    waits("mark", "DELETE", `first_drop ${T0}`, {}, "x2"),
  ];
  const shown = overlaid(known, entries);
  assert.deepEqual(shown.marks.map(({ kind, at, waiting }) => [kind, at, waiting]), [["hearts", iso(T0 + 2 * MINUTE), true]]);
  assert.deepEqual(shown.jars.map(({ ended_at }) => ended_at), [iso(T0 + 3 * MINUTE), null]);
  assert.equal(openJar(shown.jars).number, 2);
  assert.equal(nextNumber(shown.jars, 2), 3);
  const taken = overlaid(run({ marks: [mark("hearts", T0, { id: "m2" })] }), [entries[0]]);
  assert.deepEqual([taken.marks.length, taken.marks[0].waiting], [1, undefined]);
  assert.deepEqual(overlaid(known, [{ ...entries[0], scope: "another" }]).marks, known.marks);
});

test("the mark that fits comes after the furthest placed", () => {
  assert.equal(fitting([], "spirit"), "first_drop");
  assert.equal(fitting([mark("first_drop", T0), mark("note", T0)], "spirit"), "foreshots_end");
  assert.equal(fitting([mark("first_drop", T0), mark("hearts", T0)], "spirit"), "tails");
  assert.equal(fitting([mark("end", T0)], "spirit"), null);
  assert.equal(fitting([mark("first_drop", T0)], "strip"), "end");
});

test("a jar's class is what a person said, else what the marks say", () => {
  const marks = [mark("first_drop", T0), mark("foreshots_end", T0 + 5 * MINUTE), mark("hearts", T0 + 20 * MINUTE)];
  assert.equal(cutOf(jar(1, T0), run({ marks })), "foreshots");
  assert.equal(cutOf(jar(2, T0 + 5 * MINUTE - 10_000), run({ marks })), "heads");
  assert.equal(cutOf(jar(3, T0 + 21 * MINUTE), run({ marks })), "hearts");
  assert.equal(cutOf(jar(3, T0 + 21 * MINUTE, null, { cut: "feints" }), run({ marks })), "feints");
  assert.equal(cutOf(jar(1, T0), run()), null);
});

test("a run that is not cut has no classes, but for what a person said", () => {
  const marks = [mark("first_drop", T0 + 40 * MINUTE), mark("hearts", T0 + 50 * MINUTE)];
  const pieces = (more) => piecesOf(run({ marks, ...more }), T0 + 60 * MINUTE);
  for (const purpose of ["strip", "cleaning", "sacrificial"]) {
    assert.deepEqual(pieces({ purpose }).map(({ cut, from_ms, to_ms, open }) => [cut, (from_ms - T0) / MINUTE, (to_ms - T0) / MINUTE, open]), [[null, 0, 40, false], [null, 40, 60, true]]);
    assert.deepEqual(pieces({ purpose, jars: [jar(1, T0 + 40 * MINUTE), jar(2, T0 + 55 * MINUTE, null, { cut: "feints" })] }).map(({ cut }) => cut), [null, null, "feints"]);
    assert.equal(pieces({ purpose, marks: [...marks, mark("end", T0 + 55 * MINUTE)] })[1].to_ms, T0 + 55 * MINUTE);
    const ended = { purpose, marks: [], started_at: iso(T0), ended_at: iso(T0 + 30 * MINUTE) };
    assert.deepEqual(pieces(ended).map(({ heating }) => heating), [true]);
  }
  for (const purpose of ["spirit", "single", "botanical", "feints"]) assert.deepEqual(pieces({ purpose }).map(({ cut }) => cut), [null, "foreshots", "hearts"]);
});

test("the ribbon runs from the heat to now without a hole where jars follow each other", () => {
  const marks = [mark("first_drop", T0 + 40 * MINUTE)];
  const jars = [jar(1, T0 + 40 * MINUTE, T0 + 50 * MINUTE), jar(2, T0 + 50 * MINUTE)];
  const pieces = piecesOf(run({ marks, jars }), T0 + 60 * MINUTE);
  assert.deepEqual(pieces.map(({ from_ms, to_ms }) => [(from_ms - T0) / MINUTE, (to_ms - T0) / MINUTE]), [[0, 40], [40, 50], [50, 60]]);
  assert.deepEqual(pieces.map(({ heating, open }) => [heating, open]), [[true, false], [false, false], [false, true]]);
  const bare = piecesOf(run({ marks: [...marks, mark("hearts", T0 + 55 * MINUTE)] }), T0 + 60 * MINUTE);
  assert.deepEqual(bare.slice(1).map(({ cut }) => cut), ["foreshots", "hearts"]);
});

test("labels of marks never touch, and those that divide the run come first", () => {
  const random = randomness(3);
  for (let round = 0; round < 200; round += 1) {
    const kinds = ["first_drop", "hearts", "note", "power", "tails", "note", "power"];
    const labels = Array.from({ length: 1 + Math.floor(random() * 40) }, (_, index) => ({ kind: kinds[index % kinds.length], x: random() * 300, text: "x".repeat(3 + Math.floor(random() * 14)) }));
    const shown = labelled(labels, 300, 3).filter(({ row }) => row !== null);
    for (const [index, one] of shown.entries()) {
      for (const other of shown.slice(index + 1)) {
        const apart = one.row !== other.row || one.left + one.text.length * 6.6 + 6 < other.left || other.left + other.text.length * 6.6 + 6 < one.left;
        assert.ok(apart, JSON.stringify([one, other]));
      }
      assert.ok(one.left >= 0 && one.left + one.text.length * 6.6 <= 300);
    }
    assert.ok(shown.length > 0);
  }
  const [note, hearts] = labelled([{ kind: "note", x: 10, text: "a note" }, { kind: "hearts", x: 12, text: "hearts" }], 300, 1);
  assert.deepEqual([note.row, hearts.row], [null, 0]);
});

test("what the service has taken is known also where it falls silent right after", () => {
  const placed = { id: "m9", kind: "first_drop" };
  const before = run({ marks: [], fitting_mark: "first_drop" });
  const after = merged(before, { kind: "mark", method: "POST", subject: "m9", scope: before.id }, placed);
  assert.equal(after.fitting_mark, "foreshots_end");
  assert.equal(merged(after, { kind: "mark", method: "DELETE", subject: "m9", scope: before.id }, placed).fitting_mark, "first_drop");
});

test("a jar's stepper starts at its own weighing, else at what the scale says came into that jar", () => {
  const jars = [{ id: "a", volume_l: null, began_at: "2026-09-21T12:00:00Z", ended_at: "2026-09-21T12:10:00Z" }, { id: "b", volume_l: null, began_at: "2026-09-21T12:10:00Z", ended_at: null }];
  const run = { jars, expected_abv: 71.3, liquid_temperature_c: 18.4, rate_ml_min: 100, volume_step_l: 0.05, offered_volume_l: 0.35, offered: [{ jar_id: "a", volume_l: 1.234 }, { jar_id: "b", volume_l: 0.35 }] };
  assert.deepEqual(likelyOf(run, jars[0]), { volume_l: 1.234, abv: 71.5, temperature_c: 18.4 });
  assert.equal(likelyOf(run, jars[1]).volume_l, 0.35);
  assert.equal(likelyOf(run, { ...jars[0], mass_kg: 2.1, volume_at_20_c_l: 1.3 }).volume_l, 1.3);
  assert.equal(likelyOf({ ...run, offered: [] }, jars[0]).volume_l, 1); // ten minutes at 100 mL/min
});
