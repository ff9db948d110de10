import assert from "node:assert/strict";
import { test } from "node:test";
import "../../web/record/texts.js";
import "../../web/batches/texts.js";
import "../../web/lots/texts.js";
import { gaugingOf } from "../../web/lots/fields.js";
import { amountOf, branchesOf } from "../../web/lots/graph.js";
import { eventsOf, staysAsItIs } from "../../web/lots/story.js";
import { holdingText, lossText, readText, wayTo } from "../../web/lots/tell.js";
import { LOT_KINDS, transferBody, WAYS, waysOf, withWaiting } from "../../web/lots/ways.js";
import { stepText } from "../../web/stock/book.js";
import "../../web/stock/texts.js";
import { canMend, canTakeBack, takeBack } from "../../web/record/wishes.js";
import { restsFor } from "../../web/shared/queue.js";
import { has } from "../../web/texts.js";
import { MINUTE, T0, textOf } from "./helpers.mjs";

const iso = (ms) => new Date(ms).toISOString();
const lot = (id, more = {}) => ({ id, kind: "spirit", name: id, vessel_id: null, batch: null, origin: "", version: 1, now: null, ...more });
const waits = (kind, method, subject, body, more = {}) => ({ id: subject, subject, kind, method, path: "", scope: null, body, label: "", made_ms: T0, attempts: 0, trouble: null, ...more });
const move = (id, kind, from_lot, to_lot, volume_l = 1, abv = 50, at_ms = T0) => ({ id, kind, from_lot, to_lot, at: iso(at_ms), text: "", version: 1, at_20_c: { volume_l, abv, pure_alcohol_l: abv === null ? null : (volume_l * abv) / 100 } });
const node = (id, is_a = "lot", batch = "rye 1") => ({ id, is_a, kind: is_a === "run" ? "spirit" : is_a === "jar" ? "hearts" : "blend", name: id, batch });

test("every way has its texts, and a lot of any kind can be left by some way and got rid of", () => {
  for (const kind of Object.keys(WAYS)) assert.ok(has(`way.${kind}`) && has(`went.${kind}`), kind);
  for (const kind of [...LOT_KINDS, "jar"]) {
    const { first, rest } = waysOf(kind);
    assert.equal(new Set([...first, ...rest]).size, first.length + rest.length, kind);
    assert.ok([...first, ...rest].every((way) => way in WAYS), kind);
    for (const way of ["discard", "sample", "loss"]) assert.ok([...first, ...rest].includes(way), `${kind} ${way}`);
  }
  assert.ok(!waysOf("jar").rest.some((way) => WAYS[way].here === "to"));
});

test("a cask tells what it lost by itself, or why that is not known", () => {
  const weighed = { lost_pure_alcohol_l: 0.3104, loss_percent_per_year: 2.04, loss_why: null };
  assert.equal(lossText(weighed), "Lost by itself since the first weighing: 0.310 L pure alcohol. That is 2.0 % a year.");
  const young = { ...weighed, loss_percent_per_year: null, loss_why: "Less than three months lie between the weighings." };
  assert.equal(lossText(young), "Lost by itself since the first weighing: 0.310 L pure alcohol. What it loses in a year cannot be told yet. Less than three months lie between the weighings.");
  assert.ok(lossText({ ...young, lost_pure_alcohol_l: null }).startsWith("What it loses in a year cannot"));
  assert.ok(lossText({ ...weighed, lost_pure_alcohol_l: -0.01, loss_percent_per_year: -1 }).endsWith("0.010 L pure alcohol more than came into it: no loss is seen yet."));
  assert.ok(lossText(null).includes("weigh it"));
});

test("a plan to a strength ends with its lot", () => {
  const plan = { why: "Nothing is left of it: all of it went on.", reached: false, target_abv: 43, abv: 42.89, water_volume_l: null, water_mass_kg: null, volume_l: 0 };
  assert.equal(textOf(wayTo(plan)), "It came to 42.89 % vol, where 43 % were wanted; all of it went on.");
  assert.equal(textOf(wayTo({ ...plan, abv: null })), "43 % vol were wanted; all of it went on.");
  assert.match(textOf(wayTo({ ...plan, why: null, volume_l: 2 })), /weaker than the 43 % wanted/);
});

test("a transfer goes from the lot at hand or into it, and tap water holds nothing", () => {
  assert.deepEqual(transferBody("blend", "a", "b", { volume_l: 1 }), { kind: "blend", from_lot: "a", to_lot: "b", volume_l: 1 });
  assert.deepEqual(transferBody("collect", "a", "r", {}), { kind: "collect", from_lot: "r", to_lot: "a" });
  const water = transferBody("dilute", "a", null, { mass_kg: 2, volume_l: null, temperature_c: null });
  assert.deepEqual([water.from_lot, water.to_lot, water.reading_abv, water.temperature_c], [null, "a", 0, 15]);
  assert.equal(transferBody("dilute", "a", null, { temperature_c: 8 }).temperature_c, 8);
});

test("an instrument that read nothing is not sent", () => {
  assert.equal(gaugingOf({ volume_l: 2, reading_abv: null, instrument: "hydrometer" }).instrument, null);
  assert.deepEqual(gaugingOf({ volume_l: 2, text: "x" }), { volume_l: 2 });
});

test("lots that wait are among the others, changed and taken back as they will be", () => {
  const found = withWaiting([lot("a"), lot("b"), lot("c")], [
    waits("lot", "POST", "d", { id: "d", kind: "cask", name: "new", measure: { volume_l: 3 } }),
    waits("lot", "PUT", "a", { id: "x", name: "renamed", version: 1 }, { id: "x" }),
    waits("lot", "DELETE", "b", { version: 1 }, { id: "y" }),
    waits("jar", "POST", "j", { name: "no lot" }),
  ]);
  assert.deepEqual(found.map(({ id, name, waiting }) => [id, name, waiting]), [["a", "renamed", true], ["c", "c", undefined], ["d", "new", true]]);
  assert.equal(found[2].now, null);
});

test("jars of one run that went together are one branch, and their run is told once", () => {
  const graph = {
    about: "blend", nodes: [node("run", "run"), node("j1", "jar"), node("j2", "jar"), node("blend"), node("cask"), node("old")],
    edges: [
      { from_id: "run", to_id: "j1", transfer: null }, { from_id: "run", to_id: "j2", transfer: null },
      { from_id: "j1", to_id: "blend", transfer: "t1" }, { from_id: "j2", to_id: "blend", transfer: "t2" },
      { from_id: "old", to_id: "blend", transfer: "t3" }, { from_id: "blend", to_id: "cask", transfer: "t4" },
    ],
    transfers: [move("t1", "blend", "j1", "blend", 0.5, 70), move("t2", "blend", "j2", "blend", 0.5, 60), move("t3", "blend", "old", "blend"), move("t4", "move", "blend", "cask", 4)],
  };
  const back = branchesOf(graph, "back");
  assert.deepEqual(back.map(({ depth, nodes }) => [depth, nodes.map(({ id }) => id)]), [[0, ["j1", "j2"]], [1, ["run"]], [0, ["old"]]]);
  const together = amountOf(back[0].moves);
  assert.deepEqual([together.volume_l, together.abv.toFixed(6)], [1, "65.000000"]);
  assert.equal(amountOf(back[1].moves), null);
  assert.deepEqual(branchesOf(graph, "on").map(({ nodes }) => nodes[0].id), ["cask"]);
});

test("a circle, as of feints, is gone round once", () => {
  const edges = [["feints", "run"], ["run", "feints"], ["wash", "run"]].map(([from_id, to_id], index) => ({ from_id, to_id, transfer: `t${index}` }));
  const branches = branchesOf({ about: "feints", nodes: [node("feints"), node("run", "run"), node("wash")], edges, transfers: [] }, "back");
  assert.deepEqual(branches.map(({ nodes, again }) => [nodes[0].id, again]), [["run", false], ["feints", true], ["wash", false]]);
});

test("an amount is told with its errors, and a sum only where every part is known", () => {
  assert.equal(holdingText({ volume_l: 5.1234, volume_error_l: 0.05, abv: 60.1, abv_error: 0.3, pure_alcohol_l: 3.0792, pure_alcohol_error_l: 0.0341 }), "5.12 ± 0.05 L, 60.10 ± 0.30 % vol, 3.079 ± 0.034 L pure alcohol");
  assert.equal(holdingText({ volume_l: null, abv: null, pure_alcohol_l: null }), "not measured yet");
  assert.equal(amountOf([move("a", "blend", "x", "y", 1, null)]).pure_alcohol_l, null);
});

test("the story of a lot has what was measured, what came and went, and what still waits", () => {
  const measure = { id: "m", version: 1, lot_id: "l", at: iso(T0), volume_l: 5, volume_temperature_c: null, volume_error_l: null, mass_kg: null, reading_abv: 61, temperature_c: 23, instrument: null, reading_error_abv: null, at_20_c: { volume_l: 4.99, abv: 60, pure_alcohol_l: 3 } };
  const sampled = { kind: "sample", at: iso(T0 + 2 * MINUTE), id: "e", text: "" };
  const weighed = { kind: "cask_weight", at: iso(T0 + 3 * MINUTE), id: "w", text: "full" };
  const events = eventsOf({
    here: "l", measures: [measure], entries: [sampled, weighed],
    moves: [move("t1", "collect", "run", "l", 2, 50, T0 + MINUTE), move("t2", "sample", "l", null, 0.1, 60, T0 + 2 * MINUTE)],
    waiting: [waits("transfer", "POST", "t3", { kind: "discard", from_lot: "l", to_lot: null }, { made_ms: T0 + 4 * MINUTE }), waits("transfer", "POST", "t4", { kind: "discard", from_lot: "other", to_lot: null }), waits("transfer", "POST", "t1", {})],
    nameOf: (id) => id, told: ({ kind }) => ({ title: kind, value: "9 kg" }),
  });
  assert.deepEqual(events.map(({ title, value, waiting }) => [title, value, waiting]), [
    ["Discarded", "all of it", true], ["cask_weight", "9 kg", false], ["Sample", "\u2212 0.10 L, 60.0 % vol", false], ["Collected", "+ 2.00 L, 50.0 % vol", false], ["Measured", "4.99 L, 60.0 % vol", false],
  ]);
  assert.deepEqual([events[2].entry, events[3].entry, events[3].about], [sampled, null, "From run."]);
  assert.match(events[4].about, /5 L, 61 % at 23 °C/);
});

test("what a correction found is not corrected without it, whatever its id", () => {
  const measure = { id: "old", version: 1, lot_id: "l", at: iso(T0), volume_l: 5, volume_temperature_c: null, mass_kg: null, reading_abv: null, at_20_c: null };
  const [found, own] = eventsOf({
    here: "l", measures: [measure, { ...measure, id: "own", at: iso(T0 - MINUTE) }], entries: [{ kind: "correction", at: iso(T0), id: "c", text: "Misread." }],
    moves: [], waiting: [], nameOf: (id) => id, told: ({ kind }) => ({ title: kind, value: "" }),
  }).filter((event) => event.measure);
  assert.deepEqual([staysAsItIs(found), staysAsItIs(own)], [true, false]);
});

test("numbers that were worked out are told as they are read, and what went by its way", () => {
  const read = { volume_l: null, volume_temperature_c: null, mass_kg: 3.389999999999999, reading_abv: 61.300000000000004, temperature_c: 20, instrument: null };
  assert.match(readText(read), /^Read 3\.39 kg, 61\.3 % at 20 °C /);
  assert.match(readText({ ...read, mass_kg: 41.15 - 11.42, volume_l: "much" }), /^Read much L, 29\.73 kg/);
  assert.equal(stepText("gauged", -0.003, "Mon 10:00"), "Mon 10:00: Measured, 0.00 L");
  assert.equal(stepText("gauged", -0.3568, "Mon 10:00"), "Mon 10:00: Measured, \u2212 0.36 L");
  assert.equal(stepText("move", 4, "Mon 10:00"), "Mon 10:00: Moved, + 4.00 L");
  for (const way of ["gauged", "made"]) assert.ok(has(`went.${way}`));
});

test("what stands beside an entry is corrected with it, and a correction after a lock not at all", () => {
  const [own, beside] = ["01a22436-63dc-7590-9850-f14f1ed973be", "6ba7b810-9dad-51d1-80b4-00c04fd430c8"].map((id) => ({ id }));
  const stays = (more) => staysAsItIs({ measure: null, move: null, entry: null, ...more });
  assert.ok(stays({ measure: beside }) && stays({ move: beside }) && stays({ entry: { kind: "correction" } }));
  assert.ok(!stays({ measure: own }) && !stays({ move: own }) && !stays({ entry: { kind: "cask_weight" } }));
  assert.ok(!stays({ move: beside, entry: { kind: "sample" } })); // told by its entry, and corrected by its form
});

test("a lock and a tare stand; a plan is taken back where the service keeps it", () => {
  assert.equal(canTakeBack({ method: "POST", path: "stock/locks" }), false);
  assert.equal(canTakeBack({ method: "PUT", path: "jar-vessels/3" }), false);
  assert.equal(canTakeBack({ method: "POST", path: "transfers" }), true);
  assert.equal(takeBack(waits("proofing", "POST", "p", {}, { path: "proofings" }), "").path, "entries/p/undo");
  assert.equal(takeBack(waits("measure", "POST", "m", {}, { path: "lots/l/measures" }), "").path, "measures/m/undo");
});

test("a form does not stand open for what will not be answered soon", () => {
  const first = waits("lot", "POST", "1", {});
  const second = waits("transfer", "POST", "2", {});
  assert.equal(restsFor([first, second], second), false);
  assert.equal(restsFor([{ ...first, attempts: 1 }, second], second), true);
  assert.equal(restsFor([{ ...first, trouble: { status: 422 } }, second], second), false);
  const change = waits("lot", "PUT", "1", {}, { id: "3" });
  assert.equal(restsFor([{ ...first, trouble: { status: 422 } }, change], change), true);
});

test("what was refused is opened on the live page where it has a form for it", () => {
  const asked = (kind, method, path) => canMend({ kind, method, path });
  assert.ok(asked("mark", "POST", "runs/r/marks") && asked("mark", "PUT", "marks/m") && asked("jar", "PUT", "jars/j"));
  assert.ok(!asked("tick", "POST", "runs/r/checklist") && !asked("measure", "POST", "lots/a/measures"));
  assert.ok(!asked("jar", "POST", "runs/r/jars") && !asked("mark", "DELETE", "marks/m") && !asked("mark", "POST", "marks/m/undo"));
});
